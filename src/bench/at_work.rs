//! Who is at work: any number of pages may be open, one of them acts and the others watch.
//!
//! Whoever takes the bench gets a token that nobody else sees: it stands in no journal, feed, state
//! or log, and a restart forgets it. While somebody holds the bench, a command counts only with
//! that token, save what a study of a gauge asks for while no job is on the bench; while nobody
//! does, any program may command.

use std::fmt;

use uuid::Uuid;

use crate::job::{AtWork, Refusal};
use crate::units::Moment;

/// A name is as long as this at most, in characters.
const NAME: usize = 80;

/// What the one at work shows with each command.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

impl Token {
    fn fresh() -> Self {
        Self(Uuid::new_v4().to_string())
    }

    /// The text, for the one who took the bench.
    pub(crate) fn text(&self) -> &str {
        &self.0
    }
}

impl From<&str> for Token {
    fn from(text: &str) -> Self {
        Self(text.to_owned())
    }
}

/// Not its text: what is printed may be logged.
impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token")
    }
}

/// Who holds the bench.
#[derive(Debug, Default)]
pub(super) struct Holding(Option<(AtWork, Token)>);

impl Holding {
    pub(super) fn who(&self) -> Option<&AtWork> {
        self.0.as_ref().map(|(at_work, _)| at_work)
    }

    fn is_with(&self, token: Option<&Token>) -> bool {
        self.0.as_ref().is_some_and(|(_, held)| token == Some(held))
    }

    /// Whether a command with `token` counts.
    ///
    /// # Errors
    /// A [`Refusal`] that names who is at work.
    pub(super) fn admit(&self, token: Option<&Token>) -> Result<(), Refusal> {
        match self.who() {
            Some(at_work) if !self.is_with(token) => Err(Refusal(format!(
                "{} is at work on this bench since {}; take the bench over first",
                at_work.who,
                at_work.since.time_here()
            ))),
            _ => Ok(()),
        }
    }

    /// `who` is at work from `now`; whoever was before watches. The one who is at work already
    /// keeps the token.
    ///
    /// # Errors
    /// A [`Refusal`] where `who` says nothing.
    pub(super) fn take(
        &mut self,
        who: &str,
        token: Option<&Token>,
        now: Moment,
    ) -> Result<(Token, AtWork), Refusal> {
        let who: String = who.trim().chars().filter(|c| !c.is_control()).collect();
        if who.is_empty() || who.chars().count() > NAME {
            return Err(Refusal(format!(
                "say who takes the bench, such as `tablet at the press`, in {NAME} letters at most"
            )));
        }
        let (since, token) = match &self.0 {
            Some((at_work, held)) if token == Some(held) => (at_work.since, held.clone()),
            _ => (now, Token::fresh()),
        };
        let at_work = AtWork { who, since };
        self.0 = Some((at_work.clone(), token.clone()));
        Ok((token, at_work))
    }

    /// The one at work leaves.
    ///
    /// # Errors
    /// A [`Refusal`] where that is somebody else, or nobody.
    pub(super) fn leave(&mut self, token: Option<&Token>) -> Result<(), Refusal> {
        self.admit(token)?;
        match self.0.take() {
            Some(_) => Ok(()),
            None => Err(Refusal("nobody is at work on this bench".to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_acts_and_the_others_watch() {
        let mut holding = Holding::default();
        let (early, late) = (Moment::now(), Moment::now());
        assert_eq!(holding.admit(None), Ok(()), "nobody is at work");
        assert!(holding.take(" \t", None, early).is_err());
        assert!(holding.take(&"x".repeat(81), None, early).is_err());
        let (first, at_work) = holding.take(" tablet at the press ", None, early).unwrap();
        assert_eq!(at_work.who, "tablet at the press");
        assert_eq!(holding.admit(Some(&first)), Ok(()));
        let guess = Token::from("a guess");
        for other in [None, Some(&guess)] {
            let refused = holding.admit(other).unwrap_err().0;
            assert!(
                refused.starts_with("tablet at the press is at work"),
                "{refused}"
            );
            assert!(holding.leave(other).is_err());
        }
        let (again, renamed) = holding.take("tablet", Some(&first), late).unwrap();
        assert_eq!((again, renamed.since), (first.clone(), early));
        let (second, _) = holding.take("laptop", None, late).unwrap();
        assert_ne!(first.text(), second.text());
        assert!(holding.admit(Some(&first)).is_err(), "taken over");
        assert_eq!(holding.leave(Some(&second)), Ok(()));
        assert_eq!(holding.admit(Some(&first)), Ok(()), "nobody is at work");
        assert!(holding.leave(None).is_err());
        assert!(!format!("{second:?}").contains(second.text()));
    }
}
