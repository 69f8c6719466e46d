//! What surrounds and explains the drawing of a face: clock marks, axes, scale, legends.

use super::canvas::{Anchor, Drawing, Point, Step, line, rectangle, stroke};
use super::face::{Face, at};
use super::role::Role;
use super::{Axes, Scale, Style, font};
use crate::bore::Contact;

/// Half the width of the drawing.
const HALF: f64 = 208.0;
/// Where legends begin and end.
pub(super) const MARGIN: f64 = HALF - 6.0;
/// Height of the type round a face.
const TYPE: f64 = 17.0;
/// Inner end of the ring of degree marks.
const MARKS_FROM: f64 = 151.0;

/// The clock face round the bore: twelve marks, degrees at the quarters, the landmark at the top.
pub(super) fn clock(drawing: &mut Drawing, landmark: &str) {
    let hours = (0..12_u32).flat_map(|hour| {
        let deg = f64::from(hour) * 30.0;
        let long = if hour % 3 == 0 { 9.0 } else { 4.0 };
        stroke(at(deg, MARKS_FROM), at(deg, MARKS_FROM + long))
    });
    drawing.path(Role::Mark, hours.collect());
    let mut triangle = line([(0.0, -152.0), (-9.0, -167.0), (9.0, -167.0)]);
    triangle.push(Step::Close);
    drawing.path(Role::Landmark, triangle);
    let (name, size) = fitted(&format!("0° {landmark}"), 2.0 * MARGIN, TYPE);
    drawing.write(
        Role::LandmarkName,
        Anchor::Middle,
        (0.0, -178.0),
        (size, false),
        name,
    );
    for (anchor, place, text) in [
        (Anchor::Start, (164.0, 6.0), "90°"),
        (Anchor::Middle, (0.0, 183.0), "180°"),
        (Anchor::End, (-164.0, 6.0), "270°"),
    ] {
        drawing.write(Role::MarkLabel, anchor, place, (TYPE, false), text);
    }
}

/// A text in type of at most `size` and at least 11 that is no wider than `width`; what doesn't fit
/// is cut off and marked by an ellipsis.
pub(super) fn fitted(text: &str, width: f64, size: f64) -> (String, f64) {
    let wide = font::width(text, size, false);
    if wide <= width {
        return (text.to_owned(), size);
    }
    let smaller = (size * width / wide).max(11.0);
    let mut text = text.to_owned();
    if font::width(&text, smaller, false) > width + 1e-9 {
        while font::width(&text, smaller, false) + font::width("…", smaller, false) > width {
            text.pop();
        }
        text = text.trim_end().to_owned() + "…";
    }
    (text, smaller)
}

/// The corners: what the signs mean, how much is magnified, and underneath what the gauge can't see.
pub(super) fn legends(drawing: &mut Drawing, face: &Face, scale: &Scale) {
    let style = face.style;
    let say = |key| style.language.say(key);
    let mut corner = |anchor, lines: [String; 2]| {
        let x = if anchor == Anchor::Start {
            -MARGIN
        } else {
            MARGIN
        };
        for (text, y) in lines.into_iter().zip([-161.0, -141.0]) {
            drawing.write(Role::Legend, anchor, (x, y), (TYPE, false), text);
        }
    };
    if let Some(reamer) = face.reamer_mm {
        let cut = style.size(reamer);
        corner(
            Anchor::Start,
            [
                style.language.fill("drawn.reamer", &[("size", &cut)]),
                say("drawn.cut").to_owned(),
            ],
        );
    } else if face.before().is_some() {
        corner(
            Anchor::Start,
            [
                say("drawn.dotted").to_owned(),
                say("drawn.found").to_owned(),
            ],
        );
    }
    corner(
        Anchor::End,
        match face.limits {
            Some(limits) if face.off_mm().is_some() => [
                say("drawn.off").to_owned(),
                format!(
                    "{}–{}",
                    style.limit(limits.lower_mm),
                    style.limit(limits.upper_mm)
                ),
            ],
            Some(limits) => [
                say("drawn.limits").to_owned(),
                format!(
                    "{}–{}",
                    style.limit(limits.lower_mm),
                    style.limit(limits.upper_mm)
                ),
            ],
            None => [
                say("drawn.no-size").to_owned(),
                say("drawn.no-size-more").to_owned(),
            ],
        },
    );
    if let Some(u) = face.uncertainty_mm.filter(|_| face.wall.is_some()) {
        // A piece of the wall's line, as thick as the line is there.
        let half = scale.drawn(u).min(13.0);
        let piece = [-MARGIN, 147.0 - half, 24.0 - MARGIN, 147.0 + half];
        drawing.path(Role::Known, rectangle(piece).to_vec()).key = "known-legend".into();
        let middle = stroke((-MARGIN, 147.0), (24.0 - MARGIN, 147.0));
        drawing.path(Role::Profile, middle.to_vec()).key = "profile-legend".into();
        drawing.write(
            Role::Legend,
            Anchor::Start,
            (30.0 - MARGIN, 153.0),
            (TYPE, false),
            format!("±{}", style.uncertainty(u)),
        );
    }
    if face.felt_deg.is_some() {
        let text = say("drawn.felt");
        let wide = font::width(text, TYPE, false);
        let left = MARGIN - wide - 8.0;
        let (at, size) = ((MARGIN, 153.0), (TYPE, false));
        drawing.write(Role::Legend, Anchor::End, at, size, text);
        let piece = stroke((left - 22.0, 146.5), (left, 146.5));
        drawing.path(Role::Felt, piece.to_vec()).key = "felt-legend".into();
    }
    scale_bar(drawing, scale, style);
    blind(drawing, face.contact, style);
}

fn scale_bar(drawing: &mut Drawing, scale: &Scale, style: Style) {
    let (length, label) = scale.bar(style);
    let (from, to) = (-MARGIN, -MARGIN + length);
    let mut bar = Vec::new();
    for [a, b] in [
        [(from, 171.0), (from, 183.0)],
        [(from, 177.0), (to, 177.0)],
        [(to, 171.0), (to, 183.0)],
    ] {
        bar.extend(stroke(a, b));
    }
    drawing.path(Role::Scale, bar);
    let size = (TYPE, false);
    let label = style
        .language
        .fill("drawn.of-radius", &[("length", &label)]);
    drawing.write(Role::ScaleLabel, Anchor::Start, (from, 199.0), size, label);
    let magnified = style.language.say("drawn.magnified");
    let place = (MARGIN, 180.0);
    drawing.write(Role::ScaleLabel, Anchor::End, place, size, magnified);
    drawing.write(
        Role::Factor,
        Anchor::End,
        (MARGIN, 199.0),
        (TYPE, true),
        format!("×{}", scale.factor),
    );
}

/// The two lines under a drawing: what the contact sees, and what it cannot.
pub(super) fn blind(drawing: &mut Drawing, contact: Contact, style: Style) {
    let keys = match contact {
        Contact::TwoPoint => ["drawn.two-point-sees", "drawn.two-point-blind"],
        Contact::ThreePoint => ["drawn.three-point-sees", "drawn.three-point-blind"],
        Contact::Radius => ["drawn.radius-sees", "drawn.radius-more"],
    };
    under(drawing, keys.map(|key| style.language.say(key).to_owned()));
}

/// Two lines under a drawing.
pub(super) fn under(drawing: &mut Drawing, lines: [String; 2]) {
    for (text, y) in lines.into_iter().zip([221.0, 238.0]) {
        let (text, size) = fitted(&text, 2.0 * MARGIN, 14.0);
        drawing.write(Role::Blind, Anchor::Middle, (0.0, y), (size, false), text);
    }
}

/// An arrow at each end of each axis: the tight ones press inward, the long ones outward. `place`
/// says how far out the wall is.
pub(super) fn axis_arrows(drawing: &mut Drawing, axes: &Axes, place: impl Fn(f64) -> f64) {
    let arrow = |deg: f64, inward: bool| -> Vec<Step> {
        let wall = place(deg) - 5.0;
        let (tail, tip) = if inward {
            (wall, wall - 17.0)
        } else {
            (wall - 17.0, wall)
        };
        let head = if inward { tip + 9.0 } else { tip - 9.0 };
        let side = |sign: f64| {
            let (x, y) = at(deg, head);
            let (dx, dy) = at(deg + 90.0, 5.5 * sign);
            (x + dx, y + dy)
        };
        let shaft = stroke(at(deg, tail), at(deg, tip));
        let barbs = line([side(-1.0), at(deg, tip), side(1.0)]);
        shaft.into_iter().chain(barbs).collect()
    };
    for (role, deg, inward) in [
        (Role::TightAxis, axes.tight_deg, true),
        (Role::LongAxis, axes.long_deg, false),
    ] {
        let mut both = arrow(deg, inward);
        both.extend(arrow(deg + 180.0, inward));
        let item = drawing.path(role, both);
        item.fact("deg", super::svg::n(deg));
    }
}

/// In the middle of the bore, one under the other, where no arrow reaches whatever its direction: in
/// type that is read from afar.
pub(super) fn axis_labels(drawing: &mut Drawing, axes: &Axes, style: Style) {
    for (role, word, size, y) in [
        (Role::LongLabel, "drawn.long", &axes.long_label, -40.0),
        (Role::TightLabel, "drawn.tight", &axes.tight_label, 13.0),
    ] {
        let word = style.language.say(word);
        drawing.write(role, Anchor::Middle, (0.0, y), (TYPE, false), word);
        drawing.label(role, Anchor::Middle, (0.0, y + 28.0), size);
    }
}

/// Where the hand feels it tight: a piece of the ring round the bore.
pub(super) fn felt(drawing: &mut Drawing, deg: f64) {
    let piece = (-14..=14).map(|by| at(deg + f64::from(by), 147.0));
    let item = drawing.path(Role::Felt, line(piece));
    item.fact("deg", super::svg::n(deg));
}

/// A small cross.
pub(super) fn cross((x, y): Point) -> [Step; 4] {
    let [a, b] = stroke((x - 4.0, y - 4.0), (x + 4.0, y + 4.0));
    let [c, d] = stroke((x - 4.0, y + 4.0), (x + 4.0, y - 4.0));
    [a, b, c, d]
}

/// Points at the station to gauge now, from outside.
pub(super) fn pointer(deg: f64) -> Vec<Step> {
    let mut steps = line([at(deg, 135.0), at(deg - 2.7, 154.0), at(deg + 2.7, 154.0)]);
    steps.push(Step::Close);
    steps
}
