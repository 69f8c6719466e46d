//! What a drawing is made of: paths, circles and labels, each with its role.

use super::role::Role;

/// A place on a drawing, in its own units: x to the right, y downward.
pub type Point = (f64, f64);

/// A drawing, ready for any back end: SVG ([`Drawing::svg`]), PNG ([`super::png()`]), or whoever
/// walks through [`Drawing::items`] and asks [`Role::paint`] how each looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What kind it is: `face`, `unrolled`, `along`, `chart`.
    pub kind: &'static str,
    /// What it shows, for those who can't see it.
    pub title: String,
    /// Left, top, width and height of what is seen.
    pub view: [f64; 4],
    /// Facts about the whole, such as `factor`.
    pub facts: Vec<(&'static str, String)>,
    /// What is drawn, the lowest first.
    pub items: Vec<Item>,
}

/// One thing on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What it is.
    pub role: Role,
    /// Its name, which no other item of the drawing has and which stays when the numbers change.
    pub key: String,
    /// Facts about it, such as `deg`.
    pub facts: Vec<(&'static str, String)>,
    /// How it looks.
    pub shape: Shape,
}

/// The shape of an item.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Straight and curved lines.
    Path(Vec<Step>),
    /// Circles of one size.
    Circles {
        /// Their centres.
        at: Vec<Point>,
        /// Their radius.
        radius: f64,
    },
    /// A line of text.
    Text(Label),
}

/// One step of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Lift the pen and begin here.
    Move(Point),
    /// Straight to here.
    Line(Point),
    /// A cubic Bézier curve by two control points to here.
    Curve(Point, Point, Point),
    /// Back to where this part began.
    Close,
}

/// A line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Where its base line begins, is centred or ends.
    pub at: Point,
    /// Which of the three.
    pub anchor: Anchor,
    /// Height of the type.
    pub size: f64,
    /// Bold.
    pub bold: bool,
    /// What it says.
    pub text: String,
}

/// What of a label lies at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A rectangle: left, top, right, bottom.
pub type Bounds = [f64; 4];

impl Drawing {
    /// An empty drawing.
    pub(super) const fn new(kind: &'static str, title: String, view: [f64; 4]) -> Self {
        Self {
            kind,
            title,
            view,
            facts: Vec::new(),
            items: Vec::new(),
        }
    }

    /// Draws a path on top, named after its role.
    pub(super) fn path(&mut self, role: Role, steps: Vec<Step>) -> &mut Item {
        self.put(role, Shape::Path(steps))
    }

    /// Draws a circle on top.
    pub(super) fn circle(&mut self, role: Role, at: Point, radius: f64) -> &mut Item {
        let at = vec![at];
        self.put(role, Shape::Circles { at, radius })
    }

    /// Writes on top in the type of the role; an empty text leaves the drawing as it is.
    pub(super) fn label(&mut self, role: Role, anchor: Anchor, at: Point, text: impl Into<String>) {
        let (size, bold) = role.type_size();
        self.write(role, anchor, at, (size, bold), text);
    }

    /// Writes on top in type of a given size, bold or not.
    pub(super) fn write(
        &mut self,
        role: Role,
        anchor: Anchor,
        at: Point,
        (size, bold): (f64, bool),
        text: impl Into<String>,
    ) {
        let text = text.into();
        if !text.is_empty() {
            self.put(
                role,
                Shape::Text(Label {
                    at,
                    anchor,
                    size,
                    bold,
                    text,
                }),
            );
        }
    }

    /// Puts a shape on top. Its key is its role's name, numbered from the second of a role on.
    pub(super) fn put(&mut self, role: Role, shape: Shape) -> &mut Item {
        let before = self.items.iter().filter(|item| item.role == role).count();
        let key = match before {
            0 => role.class().to_owned(),
            _ => format!("{}-{}", role.class(), before + 1),
        };
        let at = self.items.len();
        self.items.push(Item {
            role,
            key,
            facts: Vec::new(),
            shape,
        });
        &mut self.items[at]
    }
}

impl Item {
    /// Adds a fact.
    pub(super) fn fact(&mut self, name: &'static str, value: impl Into<String>) {
        self.facts.push((name, value.into()));
    }
}

impl Label {
    /// What it covers, by the metrics of the font that is shipped: from the ascenders' top to the
    /// descenders' foot.
    pub fn bounds(&self) -> Bounds {
        let width = super::font::width(&self.text, self.size, self.bold);
        let left = match self.anchor {
            Anchor::Start => self.at.0,
            Anchor::Middle => self.at.0 - width / 2.0,
            Anchor::End => self.at.0 - width,
        };
        [
            left,
            self.at.1 - 0.76 * self.size,
            left + width,
            self.at.1 + 0.24 * self.size,
        ]
    }
}

/// A line through `points`.
pub(super) fn line(points: impl IntoIterator<Item = Point>) -> Vec<Step> {
    let mut steps = Vec::new();
    for point in points {
        steps.push(if steps.is_empty() {
            Step::Move(point)
        } else {
            Step::Line(point)
        });
    }
    steps
}

/// The line from one point to another.
pub(super) fn stroke(from: Point, to: Point) -> [Step; 2] {
    [Step::Move(from), Step::Line(to)]
}

/// How far the control points of a quarter circle lie along its tangents, in radii: 4/3 (√2 − 1).
/// The curve is off by less than 0.03 % of the radius (from memory).
const QUARTER: f64 = 0.552_284_749_830_793_4;

/// A circle as a closed path of four curves.
pub fn circle((x, y): Point, radius: f64) -> [Step; 6] {
    let by = |dx: f64, dy: f64| (x + radius * dx, y + radius * dy);
    let k = QUARTER;
    [
        Step::Move(by(0.0, -1.0)),
        Step::Curve(by(k, -1.0), by(1.0, -k), by(1.0, 0.0)),
        Step::Curve(by(1.0, k), by(k, 1.0), by(0.0, 1.0)),
        Step::Curve(by(-k, 1.0), by(-1.0, k), by(-1.0, 0.0)),
        Step::Curve(by(-1.0, -k), by(-k, -1.0), by(0.0, -1.0)),
        Step::Close,
    ]
}

/// A rectangle as a closed path.
pub(super) fn rectangle([left, top, right, bottom]: Bounds) -> [Step; 5] {
    [
        Step::Move((left, top)),
        Step::Line((right, top)),
        Step::Line((right, bottom)),
        Step::Line((left, bottom)),
        Step::Close,
    ]
}
