//! From the job on the bench to what the drawings show.

use super::bench::Focus;
use super::words::{self, Language};
use crate::bore::{Contact, Section};
use crate::drawing::{Cut, Face, Long, LongBore, Spot, SpotState, Style, Subject, Taper};
use crate::job::{JobView, Phase, Status};

/// The drawing of a section of the job; with `reamer_mm`, what a reamer that cuts so would take of it.
pub(super) fn face(
    lang: Language,
    job: &JobView,
    shown: &Focus,
    reamer_mm: Option<f64>,
) -> Option<Face> {
    let bore = words::bore_of(&job.seat, &shown.bore)?;
    let numbers = shown.numbers(job).map(|section| &section.numbers);
    let found = Focus {
        phase: Phase::AsFound,
        ..shown.clone()
    };
    let found = (shown.phase == Phase::AsLeft)
        .then(|| found.numbers(job))
        .flatten()
        .map(|section| &section.numbers);
    let title = lang.fill(
        "drawing.caption",
        &[
            ("bore", &lang.name_of(&shown.bore)),
            ("depth", &lang.short(shown.depth_mm)),
            ("phase", &words::phase(lang, shown.phase)),
        ],
    );
    let subject = Subject {
        title: &title,
        landmark: lang.name_of(&job.seat.landmark),
        contact: job.contact,
        nominal_mm: bore.nominal_mm,
        // Before its first reading a section is taken to be set as the others are.
        limits: set_so_far(job).then(|| bore.into()),
        style: Style::mm(lang),
    };
    let face = Face::of(&subject, numbers, found, spots(job, shown, numbers));
    // A cut is drawn where sizes are, and nowhere else.
    let reamer_mm = reamer_mm.filter(|_| face.limits.is_some());
    Some(Face {
        reamer_mm,
        felt_deg: job.evidence.tight_towards_deg,
        ..face
    })
}

/// Whether a ring stands behind some section, or none was gauged yet.
fn set_so_far(job: &JobView) -> bool {
    let mut sections = job.sections.iter();
    job.sections.is_empty() || sections.any(|of| of.numbers.numbers.size_set)
}

/// What the reamer cuts that was chosen for a bore, else the one advised, mm; none where none is.
pub(super) fn reamer_mm(job: &JobView, bore: &str) -> Option<f64> {
    let examined = &job.findings.as_ref()?.examined;
    let plan = &examined.bores.iter().find(|b| b.bore == bore)?.plan;
    let (work, with) = job
        .chosen
        .get(bore)
        .map_or((plan.advice, &plan.with), |chosen| {
            (chosen.work, &chosen.with)
        });
    let mut options = plan.options.iter();
    let option = options.find(|option| option.work == work && option.with == *with)?;
    Some(option.predicted.as_ref()?.reamed.as_ref()?.reamer_mm)
}

/// The drawing of all bores along their depth; none where no size is known.
pub(super) fn long(lang: Language, job: &JobView) -> Option<Long> {
    let cuts = |bore: &str, phase: Phase| -> Vec<Cut> {
        job.sections
            .iter()
            .filter(|section| section.phase == phase && section.numbers.bore == bore)
            .filter(|section| section.numbers.numbers.size_set)
            .filter_map(|section| Cut::of(&section.numbers.numbers))
            .collect()
    };
    let bores: Vec<LongBore> = job
        .seat
        .bores
        .iter()
        .map(|bore| {
            let left = cuts(&bore.name, Phase::AsLeft);
            let now = if left.len() > 1 {
                Phase::AsLeft
            } else {
                Phase::AsFound
            };
            LongBore {
                name: lang.name_of(&bore.name).to_owned(),
                limits: bore.into(),
                depth_mm: bore
                    .depths_mm
                    .iter()
                    .copied()
                    .fold(bore.length_mm.unwrap_or(0.0), f64::max),
                found: cuts(&bore.name, Phase::AsFound),
                left,
                taper: taper(job, &bore.name, now),
            }
        })
        .collect();
    let any = bores
        .iter()
        .any(|bore| !bore.found.is_empty() || !bore.left.is_empty());
    any.then(|| Long {
        bores,
        style: Style::mm(lang),
    })
}

/// The taper of a bore in a phase, over the sections that are done.
pub(super) fn taper(job: &JobView, bore: &str, phase: Phase) -> Option<Taper> {
    let mut bores = job.bores.iter();
    let of = bores.find(|of| of.phase == phase && of.numbers.bore == bore)?;
    let sections = job.sections.iter().filter(|of| of.phase == phase);
    let done = sections
        .map(|of| &of.numbers)
        .filter(|section| section.bore == bore && !section.under_way);
    Taper::of(&of.numbers.numbers, done.map(|section| &section.numbers))
}

/// The stations, each with what stands for a diameter there: of a swept radius twice the distance from
/// the section's own centre, where the state has it from the axis of the sweep.
fn spots(job: &JobView, shown: &Focus, numbers: Option<&Section>) -> Vec<Spot> {
    if shown.phase != job.phase {
        return Vec::new();
    }
    let centre = numbers.and_then(|numbers| numbers.roundness.as_ref());
    let centre = centre.map_or((0.0, 0.0), |roundness| {
        (roundness.least_squares.x_mm, roundness.least_squares.y_mm)
    });
    let diameter = |angle_deg: f64, value: f64| {
        if job.contact != Contact::Radius {
            return value;
        }
        let (sine, cosine) = angle_deg.to_radians().sin_cos();
        value - 2.0 * (centre.0 * cosine + centre.1 * sine)
    };
    job.stations
        .iter()
        .filter(|s| s.station.bore == shown.bore && s.station.depth_mm == shown.depth_mm)
        // What was gauged again since is drawn where that was.
        .filter(|s| s.status != Status::Measured || s.value_mm.is_some())
        .map(|s| Spot {
            angle_deg: s.station.angle_deg,
            state: match (s.status, s.value_mm) {
                _ if job.next.as_ref() == Some(&s.station) => SpotState::Next,
                // Until it is gauged once more, what was gauged counts.
                (Status::Measured | Status::ToDo, Some(value)) => {
                    SpotState::Measured(diameter(s.station.angle_deg, value))
                }
                (Status::Skipped, _) => SpotState::Skipped,
                _ => SpotState::ToDo,
            },
        })
        .collect()
}
