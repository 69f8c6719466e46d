//! The seats that can be asked for by name: the built-in ones and the user's own.

use std::collections::BTreeMap;
use std::ops::Range;

use serde::Deserialize as _;
use toml::Spanned;

use super::seat::{Seat, SeatBore, WALL_MM, YIELD_MPA, runs_between};
use crate::mistake::Mistake;
use crate::uncertainty::wrong_factor;

/// File name and text of each built-in seat.
macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        &[$((concat!("config/seats/", $name, ".toml"),
             include_str!(concat!("../../config/seats/", $name, ".toml")))),*]
    };
}

const BUILT_IN: &[(&str, &str)] = built_in![
    "headtube-ec34",
    "headtube-ec44",
    "headtube-ec49",
    "headtube-is42",
    "headtube-is52",
    "headtube-zs44",
    "headtube-zs55",
    "headtube-zs56",
    "hub-10x22x6",
    "hub-10x26x8",
    "hub-12x24x6",
    "hub-12x28x8",
    "hub-15x24x5",
    "hub-15x28x7",
    "hub-17x26x5",
    "hub-17x30x7",
    "hub-20x32x7",
    "hub-20x37x9",
    "pivot-10x19x5",
    "pivot-10x22x6",
    "pivot-12x21x5",
    "pivot-15x24x5",
    "pivot-15x28x7",
    "pivot-8x22x7",
    "pressfit-37",
    "pressfit-37-95",
    "pressfit-41",
    "pressfit-41-92",
    "pressfit-42",
    "pressfit-42-73",
    "pressfit-46",
    "pressfit-46-73",
    "pressfit-46-86",
];

/// Seats by name.
#[derive(Debug, Clone, Default)]
pub struct Seats {
    by_name: BTreeMap<String, Seat>,
    /// The decision factor of bores that state none.
    decision_factor: Option<f64>,
}

impl Seats {
    /// The seats that ship with the program.
    pub fn built_in() -> Self {
        let mut seats = Self::default();
        for (file, text) in BUILT_IN {
            // A test reads every built-in file, so none is lost here unseen.
            if let Err(mistake) = seats.add(file, text) {
                tracing::error!("a built-in seat is left out: {mistake}");
            }
        }
        seats
    }

    /// Adds the seat that `text`, read from `file`, describes; it replaces one of the same name.
    ///
    /// # Errors
    /// The first [`Mistake`] found.
    pub fn add(&mut self, file: &str, text: &str) -> Result<(), Mistake> {
        let seat = parse(file, text)?;
        self.by_name.insert(seat.name.clone(), seat);
        Ok(())
    }

    /// Bores that state no decision factor of their own are judged by `factor`.
    #[must_use]
    pub fn decided_by(mut self, factor: Option<f64>) -> Self {
        for seat in self.by_name.values_mut() {
            decide_by(seat, factor);
        }
        Self {
            decision_factor: factor,
            ..self
        }
    }

    /// The seat called `name`.
    pub fn get(&self, name: &str) -> Option<&Seat> {
        self.by_name.get(name)
    }

    /// The seat called `name`, described by a file or, like `housing-42-K7`, by its size and
    /// class after ISO 286.
    pub fn find(&self, name: &str) -> Option<Seat> {
        let housing = || {
            let mut seat = super::housing::housing(name)?;
            decide_by(&mut seat, self.decision_factor);
            Some(seat)
        };
        self.get(name).cloned().or_else(housing)
    }

    /// What can be asked for, as a sentence.
    pub fn names(&self) -> String {
        let names: Vec<&str> = self.by_name.keys().map(String::as_str).collect();
        format!(
            "there are {}, and housings by size and class such as housing-42-K7",
            names.join(", ")
        )
    }

    /// All of them, by name.
    pub fn iter(&self) -> impl Iterator<Item = &Seat> {
        self.by_name.values()
    }
}

fn decide_by(seat: &mut Seat, factor: Option<f64>) {
    for bore in &mut seat.bores {
        bore.decision_factor = bore.decision_factor.or(factor);
    }
}

/// Parses and checks one seat file.
fn parse(file: &str, text: &str) -> Result<Seat, Mistake> {
    let seat: Spanned<Seat> = toml::Deserializer::parse(text)
        .and_then(Spanned::deserialize)
        .map_err(|error| Mistake::toml(file, text, &error))?;
    let whole = seat.span();
    let seat = seat.into_inner();
    match wrong_with(&seat) {
        None => Ok(seat),
        Some(Wrong { key, bore, what }) => {
            let span = find_key(text, bore, key).unwrap_or(whole);
            Err(Mistake::at(file, text, span, what))
        }
    }
}

struct Wrong {
    key: &'static str,
    bore: Option<usize>,
    what: String,
}

/// The first thing about `seat` that can't be.
fn wrong_with(seat: &Seat) -> Option<Wrong> {
    let of_seat = |key, what: &str| {
        Some(Wrong {
            key,
            bore: None,
            what: what.to_owned(),
        })
    };
    if seat.name.trim().is_empty() {
        return of_seat("name", "a seat needs a name");
    }
    if !(seat.belongs_within_mm.is_finite() && seat.belongs_within_mm > 0.0) {
        return of_seat("belongs_within_mm", "must be greater than 0 mm");
    }
    if seat
        .coaxiality_mm
        .is_some_and(|mm| !(mm.is_finite() && mm > 0.0))
    {
        return of_seat("coaxiality_mm", "must be greater than 0 mm");
    }
    if seat.yield_mpa.is_some_and(|mpa| !YIELD_MPA.contains(&mpa)) {
        return of_seat("yield_mpa", "must lie between 10 and 3000 MPa");
    }
    if seat.service_c.is_some_and(|service| !runs_between(service)) {
        let what = "two temperatures between -60 and 200 °C, the coldest first";
        return of_seat("service_c", what);
    }
    if !(3..=360).contains(&seat.angles) {
        return of_seat(
            "angles",
            "between 3 and 360 directions: an oval can't be found from fewer than three",
        );
    }
    if seat.bores.is_empty() {
        return of_seat("name", "a seat needs at least one [[bore]]");
    }
    seat.bores.iter().enumerate().find_map(|(index, bore)| {
        let factor = bore.decision_factor.and_then(wrong_factor);
        let (key, what) = wrong_with_bore(bore)
            .map(|(key, what)| (key, what.to_owned()))
            .or_else(|| Some(("decision_factor", factor?)))
            .or_else(|| {
                let twin = seat.bores[..index]
                    .iter()
                    .any(|other| other.name == bore.name);
                twin.then(|| ("name", format!("two bores are called `{}`", bore.name)))
            })?;
        Some(Wrong {
            key,
            bore: Some(index),
            what,
        })
    })
}

fn wrong_with_bore(bore: &SeatBore) -> Option<(&'static str, &'static str)> {
    let size = |mm: f64| mm.is_finite() && mm > 0.0;
    if bore.name.trim().is_empty() {
        Some(("name", "a bore needs a name"))
    } else if !size(bore.nominal_mm) {
        Some(("nominal_mm", "must be greater than 0 mm"))
    } else if !(size(bore.lower_mm) && size(bore.upper_mm) && bore.lower_mm < bore.upper_mm) {
        Some((
            "lower_mm",
            "lower_mm must be greater than 0 and less than upper_mm",
        ))
    } else if !(bore.lower_mm..=bore.upper_mm).contains(&bore.target_mm) {
        Some((
            "target_mm",
            "the target must lie between lower_mm and upper_mm",
        ))
    } else if !size(bore.out_of_round_limit_mm) {
        Some(("out_of_round_limit_mm", "must be greater than 0 mm"))
    } else if bore.wall_mm.is_some_and(|mm| !WALL_MM.contains(&mm)) {
        Some(("wall_mm", "must lie between 0.3 and 100 mm"))
    } else if bore.length_mm.is_some_and(|mm| !size(mm)) {
        Some(("length_mm", "must be greater than 0 mm"))
    } else if bore.depths_mm.is_empty() {
        Some(("depths_mm", "at least one depth is needed"))
    } else if bore
        .depths_mm
        .iter()
        .any(|depth| !(depth.is_finite() && *depth >= 0.0))
    {
        Some((
            "depths_mm",
            "a depth is measured from the face inwards: 0 mm or more",
        ))
    } else if bore.depths_mm.windows(2).any(|pair| pair[0] >= pair[1]) {
        Some(("depths_mm", "depths must increase"))
    } else {
        None
    }
}

/// Where `key` stands: at the top of the file, or in the `bore`-th `[[bore]]` table.
fn find_key(text: &str, bore: Option<usize>, key: &str) -> Option<Range<usize>> {
    let mut table = None;
    let mut offset = 0;
    for line in text.split_inclusive('\n') {
        let trimmed = line.trim();
        if trimmed == "[[bore]]" {
            table = Some(table.map_or(0, |index: usize| index + 1));
        }
        let is_key = trimmed
            .strip_prefix(key)
            .is_some_and(|rest| rest.trim_start().starts_with('='));
        if table == bore && is_key {
            let start = offset + line.len() - line.trim_start().len();
            return Some(start..offset + line.trim_end().len());
        }
        offset += line.len();
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_seat_can_be_asked_for() {
        let seats = Seats::built_in();
        for (file, text) in BUILT_IN {
            let seat = parse(file, text).unwrap_or_else(|mistake| panic!("{mistake}"));
            assert_eq!(*file, format!("config/seats/{}.toml", seat.name));
            assert!(seats.get(&seat.name).is_some());
        }
        let shipped = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/config/seats"));
        assert_eq!(
            shipped.unwrap().count(),
            BUILT_IN.len(),
            "a seat file is not built in"
        );
    }

    #[test]
    fn limits_the_wrong_way_round_are_shown_in_their_own_bore() {
        let text = include_str!("../../config/seats/pressfit-46.toml");
        let (first, second) = text.split_at(text.rfind("lower_mm = 45.95").unwrap());
        let text = format!("{first}{}", second.replacen("45.95", "47.0", 1));
        let mistake = parse("mine.toml", &text).unwrap_err();
        let expected = first.matches('\n').count() + 1;
        assert_eq!(mistake.line, expected, "{mistake}");
        assert!(mistake.what.contains("less than upper_mm"));
    }

    #[test]
    fn a_bore_has_its_own_decision_factor_or_the_shops() {
        let text = include_str!("../../config/seats/pressfit-46.toml");
        let with = |factor: &str| {
            let stated = format!("upper_mm = 46.0\ndecision_factor = {factor}");
            text.replacen("upper_mm = 46.0", &stated, 1)
        };
        let mistake = parse("mine.toml", &with("0.2")).unwrap_err();
        let line = mistake.line;
        assert!(text.lines().nth(line - 2).unwrap().starts_with("upper_mm"));
        assert!(mistake.what.contains("1 to 5"), "{mistake}");
        let mut seats = Seats::built_in();
        seats.add("mine.toml", &with("3.0")).unwrap();
        let seats = seats.decided_by(Some(2.0));
        let factors = |name: &str| -> Vec<Option<f64>> {
            let seat = seats.find(name).unwrap();
            seat.bores.iter().map(|bore| bore.decision_factor).collect()
        };
        assert_eq!(factors("pressfit-46"), [Some(3.0), Some(2.0)]);
        assert_eq!(factors("housing-42-K7"), [Some(2.0)]);
        let unstated = Seats::built_in().decided_by(None);
        let bore = &unstated.get("pressfit-46").unwrap().bores[0];
        assert_eq!(bore.decision_factor, None);
        assert!(!serde_json::to_string(bore).unwrap().contains("decision"));
    }

    #[test]
    fn a_seat_that_could_not_show_an_oval_is_refused() {
        let text =
            include_str!("../../config/seats/pressfit-46.toml").replace("angles = 6", "angles = 2");
        assert!(parse("mine.toml", &text).unwrap_err().what.contains("oval"));
    }

    #[test]
    fn the_users_own_seat_replaces_the_built_in_one() {
        let mut seats = Seats::built_in();
        let text =
            include_str!("../../config/seats/pressfit-46.toml").replace("angles = 6", "angles = 9");
        seats.add("mine.toml", &text).unwrap();
        assert_eq!(seats.get("pressfit-46").unwrap().angles, 9);
    }
}
