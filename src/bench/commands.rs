//! What becomes of a command.

use tokio::sync::oneshot;
use uuid::Uuid;

use super::commit::Gathered;
use super::owner::Owner;
use super::{Answer, Answered, Asked, Token};
use crate::feed::News;
use crate::job::{Amendment, Command, Draft, JobId, Refusal};
use crate::units::Moment;

impl Owner {
    pub(super) fn take_command(
        &mut self,
        asked: &Asked,
        reply: oneshot::Sender<Answer>,
        gathered: &mut Gathered,
    ) {
        let Asked {
            command,
            if_seq,
            token,
        } = asked;
        if matches!(command, Command::TakeBench { .. } | Command::LeaveBench {}) {
            let _ = reply.send(self.hold(command, token.as_ref()));
            return;
        }
        if let Err(refusal) = self.holding.admit(token.as_ref())
            && !self.is_for_a_study(command)
        {
            let refusal = match command {
                Command::SetStudy { .. } => Refusal(format!(
                    "{refusal}; or put the job on it aside there, then a study is taken from anybody"
                )),
                _ => refusal,
            };
            let _ = reply.send(Err(refusal));
            return;
        }
        if let Some(why) = &self.unread {
            let _ = reply.send(Err(Refusal(why.clone())));
            return;
        }
        // A job's last numbers are sent before it leaves the bench, and a record is amended once
        // what was asked before is done.
        let waits = matches!(
            command,
            Command::CloseJob {} | Command::PutAside {} | Command::AmendJob { .. }
        );
        if waits {
            self.settle(gathered);
        }
        let moved_on = if_seq
            .zip(self.bench.job())
            .filter(|(seq, job)| job.events.last > *seq);
        let decided = match moved_on {
            Some((seq, job)) => Err(Refusal(format!(
                "the job has moved on: its newest event is {}, this was asked at {seq}; look \
                 again, then ask again",
                job.events.last
            ))),
            None => self.decide(command),
        };
        match decided {
            Ok(draft) => {
                gathered.replies.push((gathered.events.len(), reply));
                self.gather(draft, gathered);
                if matches!(command, Command::AmendJob { .. }) {
                    self.settle(gathered);
                }
            }
            Err(refusal) => {
                let _ = reply.send(Err(refusal));
            }
        }
    }

    /// What a study of a gauge asks for while no job is on the bench and the gauge is in no ring: it
    /// is the gauge's own affair, and the one at work is not disturbed in anything.
    fn is_for_a_study(&self, command: &Command) -> bool {
        let gauge = match command {
            Command::SetStudy { gauge, .. } | Command::Take { gauge } => gauge,
            _ => return false,
        };
        self.bench.job().is_none() && !self.bench.in_ring.contains_key(gauge)
    }

    /// Who is at work changes; everybody is told.
    fn hold(&mut self, command: &Command, token: Option<&Token>) -> Answer {
        let was = self.holding.who().cloned();
        let answered = if let Command::TakeBench { who } = command {
            let (token, at_work) = self.holding.take(who, token, Moment::now())?;
            Answered::Holding { token, at_work }
        } else {
            self.holding.leave(token)?;
            Answered::Stored(Vec::new())
        };
        let at_work = self.holding.who().cloned();
        if at_work != was {
            self.publish(vec![News::Bench { at_work, was }.into()]);
        }
        Ok(answered)
    }

    fn decide(&mut self, command: &Command) -> Result<Draft, Refusal> {
        let now = Moment::now();
        if let Command::AmendJob {
            job,
            note,
            part,
            evidence,
        } = command
        {
            let amendment = Amendment {
                note: note.clone(),
                part: part.clone(),
                evidence: *evidence,
            };
            return self.amend(*job, &amendment);
        }
        if let Command::Take { gauge } = command
            && let Some(frame) = self.values.take(gauge)?
        {
            return Ok(self.stated(gauge, now, frame, None));
        }
        let fresh = JobId(Uuid::now_v7());
        self.bench.command(&self.shop, command, now, fresh)
    }
}
