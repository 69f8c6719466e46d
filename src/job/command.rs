//! What the people at the bench and other programs may ask for.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::change::{EvidenceChange, HousingChange};
use super::event::{JobId, Phase};
use super::hang::HangTest;
use super::plan::PlanKind;
use super::studied::GaugeStudy;
use crate::fit::pendulum::{HangKnown, Mass};
use crate::fit::plan::Work;
use crate::fit::{Evidence, Finish, InsertAsked, Material};
use crate::units::Day;

const fn one_kelvin() -> f64 {
    1.0
}

/// One command, the body of `POST /commands`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "command", rename_all = "snake_case", deny_unknown_fields)]
pub enum Command {
    /// Open a job and put it on the bench.
    OpenJob {
        /// The part, as the mechanic calls it.
        part: String,
        /// The name of a seat.
        seat: String,
        /// How thoroughly to gauge.
        #[serde(default)]
        plan: PlanKind,
        /// What this part is made of, where the seat does not say, or says otherwise.
        #[serde(default)]
        material: Option<Material>,
        /// The wall round the bores of this part, mm, where the seat does not say, or says
        /// otherwise. Nothing is cut while it is unknown.
        #[serde(default)]
        wall_mm: Option<f64>,
        /// Yield strength of this part by its data sheet, MPa, where the seat does not say, or says
        /// otherwise. No stress is judged while it is unknown.
        #[serde(default)]
        yield_mpa: Option<f64>,
        /// How the bores of this part were made, where the seat does not say, or says otherwise.
        #[serde(default)]
        finish: Option<Finish>,
        /// The temperatures between which this part runs, °C, the coldest first, where the seat does not
        /// say, or says otherwise: the fit is given at both.
        #[serde(default)]
        service_c: Option<(f64, f64)>,
    },
    /// Close the job on the bench and write its record.
    CloseJob {},
    /// Put the job on the bench aside, still open.
    PutAside {},
    /// Take an open job back to the bench.
    TakeUp {
        /// Which.
        job: JobId,
    },
    /// Take back the newest step.
    Undo {},
    /// Leave a reading out, such as one that the others of its section contradict. Its station is
    /// to do again where no other reading is left there; undo brings it back.
    DropReading {
        /// The `seq` of the reading's event.
        seq: u64,
    },
    /// Pass over the next station.
    Skip {},
    /// Choose the next station.
    GoTo {
        /// The bore's name.
        bore: String,
        /// Depth from its face, mm.
        depth_mm: f64,
        /// Angle, degrees in [0, 360).
        angle_deg: f64,
    },
    /// Begin, or return to, a phase.
    SetPhase {
        /// The phase.
        phase: Phase,
    },
    /// Gauge every direction once more, from its twin angle.
    SecondTurn {},
    /// The gauge is in a setting ring: until `set_ring`, `check_ring` or `cancel_ring` what it sends
    /// is shown and fills no station.
    BeginRing {
        /// The gauge's name.
        gauge: String,
    },
    /// The gauge is out of the ring again; nothing was set.
    CancelRing {
        /// The gauge's name.
        gauge: String,
    },
    /// The gauge was set in a setting ring.
    SetRing {
        /// The gauge's name.
        gauge: String,
        /// The ring's calibrated size, mm.
        ring_mm: f64,
        /// What the gauge shows in the ring, mm. Left out: the mean of what it sent since
        /// `begin_ring`; else a comparator was zeroed there, a size gauge shows the ring's size, half
        /// of it where it reads radii.
        #[serde(default)]
        shown_mm: Option<f64>,
        /// Expanded uncertainty (k = 2) of the ring by its certificate, mm.
        #[serde(default)]
        ring_uncertainty_mm: Option<f64>,
        /// The day on which the ring's calibration runs out, by its certificate.
        #[serde(default)]
        ring_due: Option<Day>,
    },
    /// The gauge is in its ring again, as a check of its drift.
    CheckRing {
        /// The gauge's name.
        gauge: String,
        /// What it shows there now, mm. Left out: the mean of what it sent since `begin_ring`.
        #[serde(default)]
        shown_mm: Option<f64>,
    },
    /// What a repeatability study of a gauge found; it stands until the next one.
    SetStudy {
        /// The gauge's name.
        gauge: String,
        /// What was found.
        study: GaugeStudy,
    },
    /// Note temperatures, so that sizes are given at 20 °C.
    SetTemperature {
        /// Of the part, °C.
        part_c: f64,
        /// Of the setting ring and the gauge when it was set, °C; left out: as the part.
        #[serde(default)]
        ring_c: Option<f64>,
        /// How far off either may be, ± K.
        #[serde(default = "one_kelvin")]
        within_k: f64,
    },
    /// Note what was seen and felt. What is left out stays as it was noted before; null takes it back.
    SetEvidence {
        /// What is noted anew.
        evidence: EvidenceChange,
    },
    /// Say what the housing of the part on the bench is, where its seat does not say, or says
    /// otherwise. What is left out stays as it was said before; null makes it as the seat says.
    SetHousing(HousingChange),
    /// Say what is to be pressed in, before it is measured or after. A cup whose diameter is left out
    /// is still to be measured by the gauge whose role is `insert`; what that gauge measures from
    /// now on counts, also in place of a diameter stated here. What it measured before is of this
    /// insert where no other was named in the job and no diameter is stated here; else it is dropped.
    SetInsert {
        /// The insert.
        insert: InsertAsked,
    },
    /// Record a hang test.
    HangTest {
        /// Whether the bearings were fitted, or free (before pressing, or once out).
        fitted: bool,
        /// The test.
        test: HangTest,
    },
    /// The arm hangs on the axle with an angle gauge on it: from now on the turning points that the
    /// gauge sends are gathered. Let the arm go below 90°; undo takes the newest point back.
    BeginHang {
        /// Whether the bearings are fitted, or free (before pressing, or once out).
        fitted: bool,
        /// The arm and any weight hung on it, the gauge's own among them.
        masses: Vec<Mass>,
        /// How well angles, masses and centres are known. Left out: 0.1° or the step of the gauge,
        /// a gram, a millimetre.
        #[serde(default)]
        known: Option<HangKnown>,
    },
    /// The swing is over: record the hang test from the turning points gathered.
    EndHang {},
    /// Give up the hang test that is under way.
    CancelHang {},
    /// Choose how to go on with a bore. To gauge it again begins its second turn at once; after that it is
    /// gauged at its stations once more. After a three-point gauge that takes a two-point gauge, so a job of
    /// its own.
    Choose {
        /// The bore's name.
        bore: String,
        /// What is done.
        work: Work,
        /// With which reamer or compound.
        #[serde(default)]
        with: Option<String>,
    },
    /// Tick a step of the checklist.
    Tick {
        /// The step.
        step: String,
    },
    /// Take the newest value of a gauge that sends by itself, or is asked, as a reading.
    Take {
        /// The gauge's name.
        gauge: String,
    },
    /// A reading typed by hand, or by a gauge that types like a keyboard: text as read, in mm
    /// unless it says `in`; a diameter, or in a job for the contact `radius` a radius.
    TypeReading {
        /// Such as `45.963`, `45,963` or `1.8095 in`.
        text: String,
    },
    /// Add to the record of a closed job, or correct it: another revision of it is written, and the
    /// ones before stay.
    AmendJob {
        /// Which.
        job: JobId,
        /// A note to be added.
        #[serde(default)]
        note: Option<String>,
        /// What the part is called.
        #[serde(default)]
        part: Option<String>,
        /// What was seen and felt; it replaces what was noted before.
        #[serde(default)]
        evidence: Option<Evidence>,
    },
    /// Begin to work at the bench, or take it over from somebody else: from now on commands count
    /// only with the token that this is answered with, in the header `Bench-Token`.
    TakeBench {
        /// Who, such as `tablet at the press`: others are told.
        who: String,
    },
    /// Leave the bench: nobody is at work then.
    LeaveBench {},
    /// Write something down.
    Note {
        /// The text.
        text: String,
    },
}
