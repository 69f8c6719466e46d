//! The profile as a drawing in a file: each section from its face, the bores along their depth.

use std::path::Path;

use super::Failure;
use super::verdict::limits_for;
use crate::bore::{Bore, Located, Profile, Readings, Section};
use crate::drawing::{
    Cut, Drawing, Face, Limits, Long, LongBore, Spot, SpotState, Style, Subject, Taper, png, sheet,
};
use crate::job::Seat;

/// Pixels for a drawing unit of a picture: a section is some 10 cm wide at 200 to the inch.
const PIXELS: f64 = 2.0;

/// What the drawing is made of.
pub(super) struct Drawn<'a> {
    pub(super) profile: &'a Profile,
    pub(super) readings: &'a [Located],
    pub(super) seat: Option<&'a Seat>,
    /// What the readings state.
    pub(super) stated: Readings,
}

impl Drawn<'_> {
    /// Each bore a row of its sections, then all bores along their depth.
    pub(super) fn sheet(&self) -> Result<Drawing, Failure> {
        let mut rows = Vec::new();
        let mut long = Vec::new();
        for bore in &self.profile.bores {
            let limits = match self.seat {
                Some(seat) => Some(limits_for(seat, &bore.bore)?.into()),
                None => None,
            };
            let faces = bore
                .sections
                .iter()
                .map(|section| self.face(bore, section, limits).draw());
            rows.push(faces.collect());
            long.extend(along(bore, limits));
        }
        if !long.is_empty() {
            let style = Style::default();
            rows.push(vec![Long { bores: long, style }.draw()]);
        }
        let names: Vec<&str> = self.profile.bores.iter().map(|b| b.bore.as_str()).collect();
        Ok(sheet(format!("Profile of {}", names.join(", ")), rows))
    }

    fn face(&self, bore: &Bore, section: &Section, limits: Option<Limits>) -> Face {
        let landmark = self.seat.map_or("", |seat| seat.landmark.as_str());
        let title = format!("{}, {} mm deep", bore.bore, section.depth_mm);
        let values = self.values(bore, section);
        let spots = values.map(|(angle_deg, value)| Spot {
            angle_deg,
            state: SpotState::Measured(value),
        });
        let spots: Vec<Spot> = spots.collect();
        let nominal = self.seat.and_then(|seat| seat.bores.first());
        let size = section.mean_diameter_mm.filter(|mean| *mean > 1.0);
        let subject = Subject {
            title: &title,
            landmark,
            contact: self.profile.contact,
            // Without a size the form alone is drawn, as of a bore of any size: 40 mm.
            nominal_mm: nominal.map(|bore| bore.nominal_mm).or(size).unwrap_or(40.0),
            limits,
            style: Style::default(),
        };
        Face::of(&subject, Some(section), None, spots)
    }

    /// Where the section was gauged and what stands for a diameter there: of a swept radius, twice
    /// the distance from the section's own centre and not from the axis of the sweep.
    fn values(&self, bore: &Bore, section: &Section) -> impl Iterator<Item = (f64, f64)> {
        let contact = self.profile.contact;
        let stated = self.stated;
        let centre = section.roundness.as_ref().map_or((0.0, 0.0), |roundness| {
            (roundness.least_squares.x_mm, roundness.least_squares.y_mm)
        });
        self.readings
            .iter()
            .filter(move |at| at.bore == bore.bore && at.depth_mm == section.depth_mm)
            .map(move |at| {
                let reading = at.observation.reading_mm;
                let (sine, cosine) = at.observation.angle_deg.to_radians().sin_cos();
                let reading = match contact {
                    crate::bore::Contact::Radius => reading - centre.0 * cosine - centre.1 * sine,
                    _ => reading,
                };
                let value = match (contact, stated) {
                    (crate::bore::Contact::Radius, Readings::DeviationFrom(radius)) => {
                        2.0 * (radius + reading)
                    }
                    (crate::bore::Contact::Radius, _) => 2.0 * reading,
                    _ => reading,
                };
                (at.observation.angle_deg, value)
            })
    }
}

/// A bore along its depth; none where no size is known, or one section only. Without limits the
/// mean stands for them.
fn along(bore: &Bore, limits: Option<Limits>) -> Option<LongBore> {
    let found: Vec<Cut> = bore.sections.iter().filter_map(Cut::of).collect();
    let mean = bore.numbers.mean_diameter_mm.filter(|_| found.len() > 1)?;
    Some(LongBore {
        name: bore.bore.clone(),
        limits: limits.unwrap_or(Limits {
            lower_mm: mean,
            upper_mm: mean,
            target_mm: mean,
        }),
        depth_mm: found.iter().map(|cut| cut.depth_mm).fold(0.0, f64::max),
        found,
        left: Vec::new(),
        taper: Taper::of(&bore.numbers, bore.sections.iter()),
    })
}

/// Writes the drawing as SVG and as PNG, whichever are asked for.
pub(super) fn write(
    drawn: &Drawn<'_>,
    svg: Option<&Path>,
    picture: Option<&Path>,
) -> Result<(), Failure> {
    if svg.is_none() && picture.is_none() {
        return Ok(());
    }
    let drawing = drawn.sheet()?;
    let put = |file: &Path, bytes: &[u8]| {
        std::fs::write(file, bytes)
            .map_err(|why| Failure::outside(format!("{} can't be written: {why}", file.display())))
    };
    if let Some(file) = svg {
        put(file, drawing.svg_file().as_bytes())?;
    }
    if let Some(file) = picture {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "at most four drawings wide"
        )]
        let width = (drawing.view[2] * PIXELS).round() as u32;
        put(file, &png(&drawing, width).map_err(Failure::outside)?)?;
    }
    Ok(())
}
