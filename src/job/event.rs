//! What happened, in the order it happened: the one vocabulary of journal, feed and page.

use std::borrow::Cow;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::amend::Amendment;
use super::gauges::Calibration;
use super::hang::{Friction, HangTest};
use super::insert::NamedInsert;
use super::plan::{PlanKind, Station};
use super::ring::ShownInRing;
use super::seat::{HousingSaid, Seat};
use super::studied::GaugeStudy;
use crate::bore::Contact;
use crate::fit::Evidence;
use crate::fit::pendulum::{HangKnown, Mass};
use crate::fit::plan::Work;
use crate::units::{Day, Moment};

/// The schema name that every object of the feed carries.
pub const SCHEMA: &str = "borewright.feed/1";

/// A job's identity; sorts by the time it was opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(pub Uuid);

impl fmt::Display for JobId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl JsonSchema for JobId {
    fn schema_name() -> Cow<'static, str> {
        "JobId".into()
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({"type": "string", "format": "uuid"})
    }
}

/// Which pass of the work a reading belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// Before any work on the bore.
    AsFound,
    /// After the work.
    AsLeft,
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::AsFound => "as found",
            Self::AsLeft => "as left",
        })
    }
}

/// One line of the journal, and the same object on the feed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Event {
    /// Always `borewright.feed/1`.
    pub schema: Cow<'static, str>,
    /// The number of this event, strictly increasing across restarts.
    pub seq: u64,
    /// When it happened, UTC.
    pub at: Moment,
    /// The job it belongs to; null outside any job.
    pub job: Option<JobId>,
    /// The phase of that job; null outside any job.
    pub phase: Option<Phase>,
    /// What happened.
    #[serde(flatten)]
    pub body: Body,
}

impl Event {
    /// Whether it changes what stands behind the sections of every open job.
    pub(super) const fn is_study(&self) -> bool {
        matches!(self.body, Body::GaugeStudied { .. })
    }
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Body {
    /// A job was opened and is on the bench.
    JobOpened {
        /// The part, as the mechanic calls it.
        part: String,
        /// The seat, whole: a later edit of the seat's file does not change this job.
        seat: Seat,
        /// What is said of this part's housing, in place of what the seat says.
        #[serde(default)]
        housing: HousingSaid,
        /// The plan asked for.
        plan: PlanKind,
        /// How the gauge that the plan was made for touches the bore.
        contact: Contact,
        /// The stations to gauge, in order.
        stations: Vec<Station>,
    },
    /// A reading was taken.
    Reading {
        /// The gauge's name.
        gauge: String,
        /// The frame as text, escapes for bytes outside printable ASCII.
        raw: String,
        /// The frame's exact bytes, hexadecimal.
        raw_hex: String,
        /// What the gauge stated, in millimetres: a size or a deviation, by its description; of the
        /// radius where `contact` says so.
        value_mm: f64,
        /// `radius` for an indicator swept from an axis: `value_mm`, `deviation_mm` and
        /// `resolution_mm` are of the radius then, and sizes are diameters all the same. Absent for
        /// gauges that read diameters.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        contact: Option<Contact>,
        /// The size of the bore, a diameter, by the setting ring: the ring plus the deviation from
        /// it, plus twice the deviation for `radius`. For a gauge that sends sizes and was never
        /// set, the value as sent (twice it for `radius`); null for a deviation without a ring.
        /// Provisional until the closing re-check of the ring.
        corrected_mm: Option<f64>,
        /// Whether a setting ring stands behind `corrected_mm`.
        size_set: bool,
        /// Standard uncertainty that the setting brings to every size (a diameter), mm; null without
        /// a ring.
        setting_u_mm: Option<f64>,
        /// The size of the ring that the gauge was set in, mm; null without one.
        #[serde(default)]
        ring_mm: Option<f64>,
        /// The step of the gauge's last digit, mm.
        resolution_mm: f64,
        /// The deviation from the ring as the gauge states it with the sign made right (larger bore =
        /// more), for comparator gauges; null for gauges that send sizes.
        deviation_mm: Option<f64>,
        /// Where it was taken; null where no job is on the bench or the gauge is not for bores.
        station: Option<Station>,
    },
    /// A reading that cannot belong: recorded, not counted, its station still to do.
    ReadingRefused {
        /// The gauge's name.
        gauge: String,
        /// The frame as text.
        raw: String,
        /// The frame's exact bytes, hexadecimal.
        raw_hex: String,
        /// What the gauge stated, in millimetres, where that is a finite number.
        value_mm: Option<f64>,
        /// The station that is still to do.
        station: Option<Station>,
        /// Why it cannot belong and what to do, as a sentence.
        why: String,
    },
    /// The same text again within the bounce time of a button: recorded, not counted.
    Bounce {
        /// The gauge's name.
        gauge: String,
        /// The frame as text.
        raw: String,
        /// The frame's exact bytes, hexadecimal.
        raw_hex: String,
        /// Milliseconds since the reading that it repeats.
        after_ms: u64,
    },
    /// Bytes that are no reading.
    Noise {
        /// The gauge's name.
        gauge: String,
        /// The bytes as text.
        raw: String,
        /// The exact bytes, hexadecimal.
        raw_hex: String,
        /// Why they are no reading.
        why: String,
    },
    /// Noise beyond ten events a second of one gauge: counted, not kept.
    NoiseCounted {
        /// The gauge's name.
        gauge: String,
        /// How many frames of noise were not kept.
        count: u64,
    },
    /// A gauge's link is open.
    GaugeOpened {
        /// The gauge's name.
        gauge: String,
        /// The device path or address.
        port: String,
        /// What is known of the gauge's calibration; null where nobody said.
        #[serde(default)]
        calibration: Option<Calibration>,
    },
    /// A gauge's link is gone or can't be opened.
    GaugeLost {
        /// The gauge's name.
        gauge: String,
        /// The device path or address.
        port: String,
        /// What happened and what to do.
        why: String,
    },
    /// The gauge was set in a setting ring.
    RingSet {
        /// The gauge's name.
        gauge: String,
        /// The ring's calibrated size, a diameter.
        ring_mm: f64,
        /// What the gauge showed in the ring; 0 for a comparator zeroed there, half the ring for a
        /// gauge that reads radii.
        shown_mm: f64,
        /// Expanded uncertainty (k = 2) of the ring by its certificate; null where none is known.
        ring_uncertainty_mm: Option<f64>,
        /// The day on which the ring's calibration runs out, by its certificate.
        #[serde(default)]
        ring_due: Option<Day>,
        /// The readings that `shown_mm` is the mean of; null for what was stated.
        #[serde(default)]
        in_ring: Option<ShownInRing>,
    },
    /// The gauge was held into its ring again: how far it has drifted since it was set. The drift
    /// is shared out over this job's readings of that gauge by time.
    RingChecked {
        /// The gauge's name.
        gauge: String,
        /// What the gauge shows in the ring now, mm.
        shown_mm: f64,
        /// When it was set.
        set_at: Moment,
        /// How much larger a bore's diameter comes out now than when the gauge was set, mm.
        drift_mm: f64,
        /// The readings that `shown_mm` is the mean of; null for what was stated.
        #[serde(default)]
        in_ring: Option<ShownInRing>,
    },
    /// The gauge was put into a ring: what it sends is shown, and fills no station.
    RingBegun {
        /// The gauge's name.
        gauge: String,
    },
    /// What a gauge showed in a ring.
    RingReading {
        /// The gauge's name.
        gauge: String,
        /// The frame as text.
        raw: String,
        /// The frame's exact bytes, hexadecimal.
        raw_hex: String,
        /// What the gauge stated, in millimetres: a size or a deviation, by its description.
        value_mm: f64,
    },
    /// The gauge was taken out of the ring again; nothing was set.
    RingCancelled {
        /// The gauge's name.
        gauge: String,
    },
    /// A repeatability study of the gauge was handed over: it stands behind every section of that
    /// gauge whose own readings say less.
    GaugeStudied {
        /// The gauge's name.
        gauge: String,
        /// What was found.
        study: GaugeStudy,
    },
    /// Temperatures were noted.
    TemperatureNoted {
        /// Of the part, °C.
        part_c: f64,
        /// Of the setting ring and the gauge when it was set, °C.
        ring_c: f64,
        /// How far off either may be, ± K.
        within_k: f64,
    },
    /// The mechanic left a reading out. It stays recorded and counts no more.
    ReadingDropped {
        /// The `seq` of the reading's event.
        dropped: u64,
        /// Where it was taken.
        station: Station,
    },
    /// A station was passed over.
    Skipped {
        /// The station.
        station: Station,
    },
    /// The mechanic chose the next station.
    WentTo {
        /// The station; new ones join the plan.
        station: Station,
    },
    /// Another phase began or was returned to.
    PhaseSet {
        /// The phase that the job is in now.
        to: Phase,
    },
    /// A second full turn was added: every direction again from its twin angle.
    SecondTurn {
        /// The stations that joined the plan.
        stations: Vec<Station>,
    },
    /// What was seen and felt; it replaces what was noted before.
    EvidenceNoted {
        /// The evidence.
        evidence: Evidence,
    },
    /// What is said of the part's housing, in place of what its seat says; it replaces what was
    /// said before.
    HousingNoted {
        /// What is said.
        housing: HousingSaid,
    },
    /// What is to be pressed in.
    InsertChosen {
        /// The insert.
        insert: NamedInsert,
    },
    /// A hang test: the friction of the bearings from a hung arm.
    HangTested {
        /// Whether the bearings were fitted, or free (before pressing, or once out).
        fitted: bool,
        /// The test.
        test: HangTest,
        /// What it says.
        friction: Friction,
    },
    /// A hang test began: from now on turning points of the angle gauge are gathered.
    HangBegun {
        /// Whether the bearings are fitted, or free (before pressing, or once out).
        fitted: bool,
        /// The arm and any weight hung on it.
        masses: Vec<Mass>,
        /// How well angles, masses and centres are known.
        known: HangKnown,
    },
    /// An angle from an angle gauge: a turning point of the swing where a hang test is under way.
    AngleReading {
        /// The gauge's name.
        gauge: String,
        /// The frame as text.
        raw: String,
        /// The frame's exact bytes, hexadecimal.
        raw_hex: String,
        /// What the gauge stated, degrees.
        value_deg: f64,
        /// The turning point by this value and its neighbours, degrees: the value itself where the
        /// gauge sends at a press.
        turning_deg: f64,
        /// Whether the gauge tells the sides apart by the sign.
        signed: bool,
    },
    /// The hang test that was under way is given up.
    HangCancelled {},
    /// The mechanic chose how to go on with a bore.
    WorkChosen {
        /// The bore's name.
        bore: String,
        /// What is done.
        work: Work,
        /// With which reamer or compound.
        with: Option<String>,
        /// Why the plan refuses it, chosen all the same; null where it doesn't.
        #[serde(default)]
        refused: Option<String>,
        /// The stations that are gauged once more, where that is what was chosen; new ones join the plan.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        stations: Vec<Station>,
    },
    /// A step of the checklist was done.
    Ticked {
        /// The step.
        step: String,
    },
    /// The newest step of the job was taken back.
    Undone {
        /// The `seq` of the event taken back.
        undone: u64,
    },
    /// The mechanic wrote something down.
    Noted {
        /// The text.
        text: String,
    },
    /// The record of a closed job was amended: another revision of it follows.
    JobAmended {
        /// The revision that follows.
        revision: u32,
        /// The SHA-256 of the file of the revision that it amends, in hexadecimal.
        amends: String,
        /// What is added or corrected.
        amendment: Amendment,
    },
    /// The job left the bench, still open.
    JobPutAside {},
    /// The job came back to the bench.
    JobTakenUp {},
    /// The job was closed; its record follows.
    JobClosed {},
}

impl Body {
    /// Whether it changes the numbers of sections otherwise than by one more reading: what is to
    /// do, what counts, or what sizes are corrected by.
    pub(super) const fn settles(&self) -> bool {
        if let Self::WorkChosen { stations, .. } = self {
            return !stations.is_empty();
        }
        matches!(
            self,
            Self::Undone { .. }
                | Self::ReadingDropped { .. }
                | Self::Skipped { .. }
                | Self::WentTo { .. }
                | Self::PhaseSet { .. }
                | Self::SecondTurn { .. }
                | Self::RingChecked { .. }
                | Self::TemperatureNoted { .. }
                | Self::HousingNoted { .. }
        )
    }
}
