//! What a reamer would leave of a bore, before it is turned.
//!
//! A rigid reamer of radius R on the axis leaves r'(θ) = max(r(θ), R): it cuts only where the
//! bore is smaller and takes nothing where the bore is at size already.

use std::f64::consts::TAU;

use std::borrow::Cow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Contact, Section};

/// Points round the circumference, one a degree: with few lobes the mean of the cut wall is good
/// to a thousandth of the cut.
const POINTS: usize = 360;

/// Why no preview can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NoPreview {
    /// A gauge that doesn't show the wall.
    #[error(
        "a three-point gauge doesn't show an oval, so what a reamer would cut is unknown; gauge with two points"
    )]
    ThreePoint,
    /// The size isn't known.
    #[error("at {0} mm the size of the bore is not known; set the gauge in a setting ring")]
    SizeUnknown(f64),
    /// Too few directions.
    #[error(
        "at {0} mm the form of the bore is not known; gauge three directions or more, evenly spread"
    )]
    FormUnknown(f64),
    /// No section.
    #[error("no section was gauged")]
    Empty,
    /// Not a reamer.
    #[error("a reamer of {0} mm: its cutting diameter must be above 0")]
    Diameter(f64),
}

/// The wall of one section, sampled once and used for every reamer.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    depth_mm: f64,
    radii_mm: Vec<f64>,
    /// Half the smallest diameter, or the least radius, measured: a spot that the fitted wall smooths over is cut too.
    least_mm: f64,
    /// Half the largest diameter measured by two points: where few directions fit an oval only, a
    /// lobe of more of them stands out of the fitted wall.
    most_mm: Option<f64>,
}

/// An arc of the circumference that the reamer leaves alone, degrees clockwise seen from the face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Arc {
    /// Where it begins, in [0, 360).
    pub from_deg: f64,
    /// How far it goes, to 1°.
    pub width_deg: f64,
}

/// What a reamer would leave of one section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ReamedSection {
    /// Depth from the bore's face, mm.
    pub depth_mm: f64,
    /// Mean diameter afterwards, mm.
    pub mean_diameter_mm: f64,
    /// Largest diameter afterwards, mm.
    pub largest_mm: f64,
    /// Smallest diameter afterwards, mm.
    pub smallest_mm: f64,
    /// Largest minus smallest diameter afterwards, mm.
    pub out_of_round_mm: f64,
    /// Two-lobe part afterwards, largest minus smallest diameter, mm.
    pub oval_size_mm: f64,
    /// Share of the circumference that is cut, 0 to 1.
    pub share_cut: f64,
    /// Deepest cut, mm of radius, the smallest diameter measured included.
    pub deepest_cut_mm: f64,
    /// Area of the chips' cross-section, mm².
    pub chips_mm2: f64,
    /// Arcs left alone, the widest first; empty where all is cut.
    pub uncut: Vec<Arc>,
    /// The largest diameter measured, mm, where it stays uncut though the wall fitted through the
    /// directions would be cut all round: then share, arcs and mean miss what stays uncut. Null
    /// where they don't.
    #[serde(default)]
    pub uncut_unseen_mm: Option<f64>,
    /// What the same reamer may leave when it runs off the bore's axis.
    pub off_centre: OffCentre,
}

/// Bounds for a reamer that runs off the axis by up to a given offset, in any direction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OffCentre {
    /// The offset, mm.
    pub offset_mm: f64,
    /// The mean diameter is at most this, mm.
    pub mean_diameter_up_to_mm: f64,
    /// No diameter is larger than this, mm.
    pub largest_up_to_mm: f64,
    /// No cut is deeper than this, mm of radius.
    pub deepest_cut_up_to_mm: f64,
}

/// What a reamer would leave of a bore.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Reamed {
    /// The cutting diameter, mm.
    pub reamer_mm: f64,
    /// Unweighted mean of the sections' mean diameters afterwards, mm.
    pub mean_diameter_mm: f64,
    /// Greatest out-of-round of any section afterwards, mm.
    pub out_of_round_mm: f64,
    /// Mean share of the circumference that is cut, 0 to 1.
    pub share_cut: f64,
    /// Deepest cut anywhere, mm of radius.
    pub deepest_cut_mm: f64,
    /// Volume of chips, mm³; null where the length of the bore isn't known.
    pub chips_mm3: Option<f64>,
    /// The longest arc anywhere that stays uncut, degrees; 0 where all is cut.
    pub longest_uncut_deg: f64,
    /// The largest diameter measured, mm, that stays uncut in a section whose share and arcs miss
    /// it; null where none does.
    #[serde(default)]
    pub uncut_unseen_mm: Option<f64>,
    /// Bounds for the whole bore, the reamer off the axis.
    pub off_centre: OffCentre,
    /// What the preview takes for granted.
    pub assumes: Cow<'static, str>,
    /// Section by section.
    pub sections: Vec<ReamedSection>,
}

impl Wall {
    /// The wall of `section` as `contact` saw it.
    ///
    /// # Errors
    /// [`NoPreview`] where size or form aren't known.
    pub fn of(contact: Contact, section: &Section) -> Result<Self, NoPreview> {
        if contact == Contact::ThreePoint {
            return Err(NoPreview::ThreePoint);
        }
        let depth_mm = section.depth_mm;
        let mean = section
            .mean_diameter_mm
            .filter(|_| section.size_set)
            .ok_or(NoPreview::SizeUnknown(depth_mm))?;
        let shape = section
            .shape
            .as_ref()
            .ok_or(NoPreview::FormUnknown(depth_mm))?;
        let radii_mm: Vec<f64> = (0..POINTS)
            .map(|at| mean / 2.0 + shape.deviation_mm(degrees(at)))
            .collect();
        // Swept radii count from the centre fitted to them.
        let inward = section.form().filter(|form| form.of_radii);
        let swept = inward.map_or(f64::INFINITY, |form| (mean - form.inward_mm) / 2.0);
        let measured = section.smallest_mm.map_or(swept, |mm| mm / 2.0);
        let least_mm = radii_mm.iter().copied().fold(measured, f64::min);
        Ok(Self {
            depth_mm,
            radii_mm,
            least_mm,
            most_mm: section
                .largest_mm
                .filter(|_| contact == Contact::TwoPoint)
                .map(|mm| mm / 2.0),
        })
    }

    /// How far the wall measured comes in beyond the wall fitted through it, mm: a spot narrower
    /// than the lobes that the directions show.
    pub fn unfitted_mm(&self) -> f64 {
        let fitted = self.radii_mm.iter().copied().fold(f64::INFINITY, f64::min);
        fitted - self.least_mm
    }

    fn ream(&self, radius: f64, offset: f64) -> ReamedSection {
        let reamed = |at: usize| self.radii_mm[at].max(radius);
        let opposite = |at: usize| (at + POINTS / 2) % POINTS;
        let mut sum = 0.0;
        let mut up_to = 0.0;
        let mut chips = 0.0;
        let mut cut = 0_usize;
        let (mut largest, mut smallest, mut largest_up_to) = (0.0_f64, f64::INFINITY, 0.0_f64);
        let (mut cosine, mut sine) = (0.0, 0.0);
        for (at, &before) in self.radii_mm.iter().enumerate() {
            let (one, other) = (reamed(at), reamed(opposite(at)));
            sum += one;
            chips += one * one - before * before;
            if before < radius {
                cut += 1;
            }
            largest = largest.max(one + other);
            smallest = smallest.min(one + other);
            // Off the axis by e the tool's wall lies at most R + e cos ψ from the axis, so one
            // end of a diameter gains what the other loses, and where only one end is cut the
            // diameter grows.
            let across = self.radii_mm[opposite(at)];
            let pushed = |near: f64, far: f64| near.max(radius + offset) + far.max(radius - offset);
            let most = pushed(before, across).max(pushed(across, before));
            up_to += most;
            largest_up_to = largest_up_to.max(most);
            let (s, c) = (2.0 * degrees(at).to_radians()).sin_cos();
            cosine += one * c;
            sine += one * s;
        }
        #[expect(clippy::cast_precision_loss, reason = "a count of points")]
        let count = POINTS as f64;
        #[expect(clippy::cast_precision_loss, reason = "a count of points")]
        let share_cut = cut as f64 / count;
        // A diameter that was measured stays where the reamer is smaller.
        let measured = self.most_mm.filter(|&most| most > radius);
        let hidden = measured.filter(|_| cut == POINTS).map(|most| 2.0 * most);
        largest = largest.max(measured.map_or(0.0, |most| 2.0 * most));
        if self.most_mm.is_some() {
            smallest = smallest.min(2.0 * self.least_mm.max(radius));
        }
        ReamedSection {
            depth_mm: self.depth_mm,
            mean_diameter_mm: 2.0 * sum / count,
            largest_mm: largest,
            smallest_mm: smallest,
            out_of_round_mm: largest - smallest,
            oval_size_mm: 4.0 * (2.0 / count) * cosine.hypot(sine),
            share_cut,
            deepest_cut_mm: (radius - self.least_mm).max(0.0),
            chips_mm2: chips * TAU / count / 2.0,
            uncut: self.uncut(radius),
            uncut_unseen_mm: hidden,
            off_centre: OffCentre {
                offset_mm: offset,
                mean_diameter_up_to_mm: up_to / count,
                largest_up_to_mm: largest_up_to,
                deepest_cut_up_to_mm: (radius + offset - self.least_mm).max(0.0),
            },
        }
    }

    fn uncut(&self, radius: f64) -> Vec<Arc> {
        let left = |at: usize| self.radii_mm[at % POINTS] >= radius;
        // Begin behind a cut point, so that no arc is split at 0°.
        let Some(start) = (0..POINTS).find(|&at| !left(at)) else {
            return vec![Arc {
                from_deg: 0.0,
                width_deg: 360.0,
            }];
        };
        let mut arcs: Vec<Arc> = Vec::new();
        let mut open = false;
        for at in start..start + POINTS {
            if left(at) && open {
                if let Some(arc) = arcs.last_mut() {
                    arc.width_deg += degrees(1);
                }
            } else if left(at) {
                arcs.push(Arc {
                    from_deg: degrees(at % POINTS),
                    width_deg: degrees(1),
                });
            }
            open = left(at);
        }
        arcs.sort_by(|a, b| b.width_deg.total_cmp(&a.width_deg));
        arcs
    }
}

/// What a reamer that cuts `reamer_mm` in diameter would leave of the bore whose sections have
/// these `walls`, over `length_mm` of depth, and at worst if it ran up to `off_centre_mm` off the
/// axis.
///
/// # Errors
/// [`NoPreview`] where there is no section or no reamer.
pub fn ream(
    contact: Contact,
    walls: &[Wall],
    reamer_mm: f64,
    length_mm: Option<f64>,
    off_centre_mm: f64,
) -> Result<Reamed, NoPreview> {
    if walls.is_empty() {
        return Err(NoPreview::Empty);
    }
    if !(reamer_mm.is_finite() && reamer_mm > 0.0) {
        return Err(NoPreview::Diameter(reamer_mm));
    }
    let sections: Vec<ReamedSection> = walls
        .iter()
        .map(|wall| wall.ream(reamer_mm / 2.0, off_centre_mm.abs()))
        .collect();
    #[expect(clippy::cast_precision_loss, reason = "a count of sections")]
    let count = sections.len() as f64;
    let mean = |of: fn(&ReamedSection) -> f64| sections.iter().map(of).sum::<f64>() / count;
    let most = |of: fn(&ReamedSection) -> f64| sections.iter().map(of).fold(0.0, f64::max);
    Ok(Reamed {
        reamer_mm,
        mean_diameter_mm: mean(|s| s.mean_diameter_mm),
        out_of_round_mm: most(|s| s.out_of_round_mm),
        share_cut: mean(|s| s.share_cut),
        deepest_cut_mm: most(|s| s.deepest_cut_mm),
        chips_mm3: length_mm.map(|length| volume(&sections, length)),
        uncut_unseen_mm: sections
            .iter()
            .filter_map(|s| s.uncut_unseen_mm)
            .reduce(f64::max),
        longest_uncut_deg: most(|s| s.uncut.first().map_or(0.0, |arc| arc.width_deg)),
        off_centre: OffCentre {
            offset_mm: off_centre_mm.abs(),
            mean_diameter_up_to_mm: mean(|s| s.off_centre.mean_diameter_up_to_mm),
            largest_up_to_mm: most(|s| s.off_centre.largest_up_to_mm),
            deepest_cut_up_to_mm: most(|s| s.off_centre.deepest_cut_up_to_mm),
        },
        assumes: Cow::Borrowed(match contact {
            Contact::Radius => "the reamer is rigid and follows the axis of the bore",
            Contact::TwoPoint | Contact::ThreePoint => {
                "the reamer is rigid and follows the axis of the bore, and the bore is the same at \
                 opposite sides: a two-point gauge can't show otherwise"
            }
        }),
        sections,
    })
}

/// Chips over a length: trapezia between sections, the end sections standing for what lies beyond
/// them.
fn volume(sections: &[ReamedSection], length_mm: f64) -> f64 {
    let mut by_depth: Vec<(f64, f64)> =
        sections.iter().map(|s| (s.depth_mm, s.chips_mm2)).collect();
    by_depth.sort_by(|a, b| a.0.total_cmp(&b.0));
    let between: f64 = by_depth
        .windows(2)
        .map(|pair| (pair[1].0 - pair[0].0) * f64::midpoint(pair[0].1, pair[1].1))
        .sum();
    match (by_depth.first(), by_depth.last()) {
        (Some(first), Some(last)) => {
            between + first.0.max(0.0) * first.1 + (length_mm - last.0).max(0.0) * last.1
        }
        _ => 0.0,
    }
}

#[expect(clippy::cast_precision_loss, reason = "a count of points")]
fn degrees(at: usize) -> f64 {
    at as f64 * (360.0 / POINTS as f64)
}
