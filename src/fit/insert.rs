//! What is pressed into the bore: a bearing, or a cup with a bearing in it.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::bearing::{BearingClass, BearingError, ClearanceGroup, raceway_mm, ring_outside_um};
use super::limits::{Class, Feature, limits};
use super::material::Material;

/// Boundary dimensions of a bearing, written `30x42x7`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BearingSize {
    /// Bore, mm.
    pub bore_mm: f64,
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
}

/// Text that is no bearing size.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is no bearing size: write bore x outside x width in mm, such as 30x42x7")]
pub struct NotABearing(String);

impl FromStr for BearingSize {
    type Err = NotABearing;

    fn from_str(text: &str) -> Result<Self, NotABearing> {
        let not = || NotABearing(text.to_owned());
        let numbers = text
            .split(['x', 'X', '×'])
            .map(|part| {
                part.trim()
                    .parse::<f64>()
                    .ok()
                    .filter(|mm| mm.is_finite() && *mm > 0.0)
            })
            .collect::<Option<Vec<f64>>>()
            .ok_or_else(not)?;
        match numbers[..] {
            [bore_mm, outside_mm, width_mm] if bore_mm < outside_mm => Ok(Self {
                bore_mm,
                outside_mm,
                width_mm,
            }),
            _ => Err(not()),
        }
    }
}

impl fmt::Display for BearingSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}x{}x{}", self.bore_mm, self.outside_mm, self.width_mm)
    }
}

impl Serialize for BearingSize {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for BearingSize {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for BearingSize {
    fn schema_name() -> Cow<'static, str> {
        "BearingSize".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({"type": "string", "pattern": "^[0-9.]+x[0-9.]+x[0-9.]+$"})
    }
}

/// A deep-groove ball bearing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bearing {
    /// Its boundary dimensions.
    pub size: BearingSize,
    /// Tolerance class after ISO 492.
    #[serde(default)]
    pub class: BearingClass,
    /// Radial internal clearance group after ISO 5753-1, before fitting; in a cup, as it is there.
    #[serde(default)]
    pub clearance: ClearanceGroup,
    /// Mean diameter of the outer raceway, mm, where it is known better than (d + 4 D) / 5.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub raceway_mm: Option<f64>,
}

impl Bearing {
    /// A Normal-class bearing with CN clearance.
    pub const fn normal(size: BearingSize) -> Self {
        Self {
            size,
            class: BearingClass::Normal,
            clearance: ClearanceGroup::Cn,
            raceway_mm: None,
        }
    }

    /// Mean diameter of the outer raceway, mm.
    pub fn raceway_mm(&self) -> f64 {
        self.raceway_mm
            .unwrap_or_else(|| raceway_mm(self.size.bore_mm, self.size.outside_mm))
    }
}

/// The diameter that goes into the bore.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outside {
    /// Mean diameter at 20 °C, mm.
    pub mean_mm: f64,
    /// Standard uncertainty of it, mm.
    pub standard_mm: f64,
    /// Where it comes from, such as `measured` or `ISO 492 Normal`.
    pub from: String,
}

impl Outside {
    /// The diameter of a shaft of this class: the middle of its limits, anywhere between them with
    /// a rectangular distribution (JCGM 100:2008, 4.3.7).
    ///
    /// # Errors
    /// A sentence, where the class is a hole's or the tables don't hold it.
    pub fn of_class(nominal_mm: f64, class: Class) -> Result<Self, String> {
        if class.feature == Feature::Hole {
            return Err(format!(
                "{class} is a hole: what goes in has a class with a small letter, such as p6"
            ));
        }
        let found = limits(nominal_mm, class).map_err(|error| error.to_string())?;
        Ok(Self {
            mean_mm: f64::midpoint(found.lower_mm, found.upper_mm),
            standard_mm: (found.upper_mm - found.lower_mm) / 2.0 / 3.0_f64.sqrt(),
            from: format!("{BY_CLASS}{class} on {nominal_mm} mm"),
        })
    }

    /// Whether it is that of a bearing as bought, by its class.
    pub fn is_of_bearing(&self) -> bool {
        self.from.starts_with(OF_BEARING)
    }

    /// What is not known of it where it follows from a class of ISO 286, as a sentence.
    pub(super) fn by_class(&self) -> Option<String> {
        let class = self.from.strip_prefix(BY_CLASS)?;
        Some(format!(
            "its outside diameter is taken from its class, {class}: {:.4} mm ± {:.4} mm at most; \
             measure it to know better",
            self.mean_mm,
            self.standard_mm * 3.0_f64.sqrt()
        ))
    }
}

/// How the origin of such a diameter begins.
const BY_CLASS: &str = "ISO 286-2 ";
/// How that of a bearing's own diameter begins.
const OF_BEARING: &str = "ISO 492 ";

/// How far what is pressed in may be from the nominal diameter of its bore, mm (judgement).
const FOREIGN_MM: f64 = 1.0;

/// What is pressed into the bore.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Insert {
    /// What meets the bore: a cup of this material; null where the bearing does so itself.
    #[serde(default)]
    pub cup: Option<Material>,
    /// The bearing; null where it is not known.
    #[serde(default)]
    pub bearing: Option<Bearing>,
    /// The diameter that goes into the bore.
    pub outside: Outside,
    /// Length that is held in the bore, mm.
    pub length_mm: f64,
}

impl Insert {
    /// A bearing straight in the bore, its outside diameter within its tolerance class: the middle
    /// of it, with a rectangular distribution (JCGM 100:2008, 4.3.7).
    ///
    /// # Errors
    /// A size that the tolerance table doesn't hold.
    pub fn of_bearing(bearing: Bearing) -> Result<Self, BearingError> {
        let (lower, upper) = ring_outside_um(bearing.size.outside_mm, bearing.class)?;
        let class = match bearing.class {
            BearingClass::Normal => "ISO 492 Normal",
            BearingClass::Six => "ISO 492 class 6",
        };
        Ok(Self {
            cup: None,
            bearing: Some(bearing),
            outside: Outside {
                mean_mm: bearing.size.outside_mm + f64::midpoint(lower, upper) / 1e3,
                standard_mm: (upper - lower) / 2e3 / 3.0_f64.sqrt(),
                from: class.to_owned(),
            },
            length_mm: bearing.size.width_mm,
        })
    }

    /// The same with its outside diameter measured.
    #[must_use]
    pub fn measured(mut self, mean_mm: f64, standard_mm: f64) -> Self {
        self.outside = Outside {
            mean_mm,
            standard_mm,
            from: "measured".to_owned(),
        };
        self
    }

    /// Why it can't be what goes into a bore of `nominal_mm`, a sentence that says what to do;
    /// `None` where it can. No seat is bored a millimetre from what it takes (judgement).
    pub fn foreign_to(&self, nominal_mm: f64) -> Option<String> {
        let mean_mm = self.outside.mean_mm;
        if (mean_mm - nominal_mm).abs() <= FOREIGN_MM {
            return None;
        }
        let named = self.bearing.map(|bearing| bearing.size.outside_mm);
        let outside_mm = named
            .filter(|named| self.cup.is_none() && (named - mean_mm).abs() < 0.05)
            .unwrap_or((mean_mm * 1e3).round() / 1e3);
        let then = if self.cup.is_some() {
            "measure the cup again, or take the right one"
        } else {
            "name the cup, or the right bearing"
        };
        Some(format!(
            "{} ({outside_mm} mm outside) is not for a {nominal_mm} mm bore: {then}",
            self.name()
        ))
    }

    /// What it is, for sentences.
    pub fn name(&self) -> String {
        let bearing = self.bearing.map(|bearing| bearing.size.to_string());
        match (self.cup, bearing) {
            (None, Some(size)) => format!("bearing {size}"),
            (None, None) => "ring".to_owned(),
            (Some(cup), Some(size)) => format!("{} cup with bearing {size}", cup.word()),
            (Some(cup), None) => format!("{} cup", cup.word()),
        }
    }
}

/// An insert as it is asked for: a bearing by its size, a cup by its material, and what was measured.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct InsertAsked {
    /// The bearing, bore x outside x width in mm, such as `30x42x7`.
    pub bearing: Option<BearingSize>,
    /// Its tolerance class after ISO 492.
    pub class: BearingClass,
    /// Its internal clearance group after ISO 5753-1.
    pub clearance: ClearanceGroup,
    /// The bearing sits in a cup of this material.
    pub cup: Option<Material>,
    /// Outside diameter of bearing or cup as measured, mm.
    pub outside_mm: Option<f64>,
    /// Where it was not measured, the tolerance class of a cup's outside diameter after ISO 286, such
    /// as `p6`.
    pub outside_class: Option<Class>,
    /// The nominal size of that class, mm; that of the bore where absent.
    pub nominal_mm: Option<f64>,
    /// Standard uncertainty of it, mm; 0.002 where absent.
    pub outside_u_mm: Option<f64>,
    /// Length held in the bore, mm; the bearing's width where absent.
    pub length_mm: Option<f64>,
}

/// Standard uncertainty of an outside diameter measured with a micrometer, mm (common practice, no
/// source).
pub const MEASURED_U_MM: f64 = 0.002;

/// No bearing's outside diameter is farther from its boundary dimension, mm: more than twice the
/// widest tolerance of ISO 492 Normal here, and a worn ring's wear (judgement).
const NOT_ITS_OWN_MM: f64 = 0.05;

/// No insert that a bore gauge finds a bore for is larger, mm (judgement).
const GREATEST_MM: f64 = 1000.0;

impl InsertAsked {
    /// The insert; `None` where nothing is asked for. `bore_mm` is the nominal size of the bores that
    /// it goes into, where they are alike.
    ///
    /// # Errors
    /// A sentence that says what is missing or can't be.
    pub fn insert(&self, bore_mm: Option<f64>) -> Result<Option<Insert>, String> {
        let sizes = [
            self.outside_mm,
            self.outside_u_mm,
            self.length_mm,
            self.nominal_mm,
        ];
        if sizes
            .into_iter()
            .flatten()
            .any(|mm| !(mm > 0.0 && mm <= GREATEST_MM))
        {
            return Err("sizes of an insert lie between 0 and 1000 mm".to_owned());
        }
        let bearing = self.bearing.map(|size| Bearing {
            size,
            class: self.class,
            clearance: self.clearance,
            raceway_mm: None,
        });
        let measured = self.outside_mm.map(|mean_mm| Outside {
            mean_mm,
            standard_mm: self.outside_u_mm.unwrap_or(MEASURED_U_MM),
            from: "measured".to_owned(),
        });
        let outside = match (measured, self.outside_class) {
            (None, Some(class)) if self.cup.is_none() => {
                return Err(format!(
                    "{class} is the class of a cup: name the cup; a bearing's own outside diameter \
                     follows from ISO 492"
                ));
            }
            (None, Some(class)) => {
                let nominal_mm = self.nominal_mm.or(bore_mm).ok_or_else(|| {
                    format!("say on which nominal size {class} is: the bores are not alike")
                })?;
                Some(Outside::of_class(nominal_mm, class)?)
            }
            (measured, _) => measured,
        };
        if let Some(why) = self.contradiction(outside.as_ref()) {
            return Err(why);
        }
        match (self.cup, bearing, outside) {
            (None, None, None) => Ok(None),
            (None, Some(bearing), None) => {
                let mut insert = Insert::of_bearing(bearing).map_err(|error| error.to_string())?;
                insert.length_mm = self.length_mm.unwrap_or(insert.length_mm);
                Ok(Some(insert))
            }
            (cup, bearing, Some(outside)) => {
                let width = bearing.map(|bearing| bearing.size.width_mm);
                let length_mm = self.length_mm.or(width).ok_or(
                    "the length held in the bore is not known: state it, or the bearing's size",
                )?;
                Ok(Some(Insert {
                    cup,
                    bearing,
                    outside,
                    length_mm,
                }))
            }
            (Some(_), _, None) => Err(
                "measure the cup and state its outside diameter, or its tolerance class by its \
                 drawing, such as p6"
                    .to_owned(),
            ),
        }
    }

    /// Why bearing, cup and outside diameter can't belong together, a sentence that says what to do.
    fn contradiction(&self, outside: Option<&Outside>) -> Option<String> {
        let (size, outside_mm) = (self.bearing?, outside?.mean_mm);
        if self.cup.is_some() {
            return (outside_mm <= size.outside_mm).then(|| {
                format!(
                    "bearing {size} does not go into a cup of {outside_mm:.3} mm outside: name the \
                     right bearing, or measure the cup again"
                )
            });
        }
        let off = (outside_mm - size.outside_mm).abs() > NOT_ITS_OWN_MM;
        off.then(|| {
            format!(
                "bearing {size} has no outside diameter of {outside_mm:.3} mm: name the cup that it \
                 sits in, or measure it again"
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bearing_is_written_by_its_dimensions() {
        let size: BearingSize = "30x42x7".parse().unwrap();
        assert_eq!(
            (size.bore_mm, size.outside_mm, size.width_mm),
            (30.0, 42.0, 7.0)
        );
        assert_eq!(size.to_string(), "30x42x7");
        for text in [
            "",
            "30x42",
            "42x30x7",
            "30x42x-7",
            "30x42x7x1",
            "axbxc",
            "NaNx42x7",
        ] {
            assert!(text.parse::<BearingSize>().is_err(), "{text}");
        }
    }

    /// ISO 492 Normal, 30 to 50 mm: 0/-11 µm, so 41.9945 mm with 11/√12 = 3.175 µm.
    #[test]
    fn an_unmeasured_ring_lies_anywhere_in_its_class() {
        let insert = Insert::of_bearing(Bearing::normal("30x42x7".parse().unwrap())).unwrap();
        assert!((insert.outside.mean_mm - 41.9945).abs() < 1e-12);
        assert!((insert.outside.standard_mm - 0.003_175_426).abs() < 1e-9);
        assert_eq!(insert.name(), "bearing 30x42x7");
    }

    /// 46 p6 is +42/+26 µm (ISO 286-2, table of shafts), so 46.034 mm with 16/√12 = 4.619 µm.
    #[test]
    fn a_cup_by_its_class_lies_anywhere_within_its_limits() {
        let asked: InsertAsked = serde_json::from_value(serde_json::json!({
            "bearing": "30x42x7", "cup": "aluminium", "outside_class": "p6",
        }))
        .unwrap();
        let insert = asked.insert(Some(46.0)).unwrap().unwrap();
        assert!((insert.outside.mean_mm - 46.034).abs() < 1e-9);
        assert!((insert.outside.standard_mm - 0.004_618_802).abs() < 1e-9);
        assert_eq!(insert.outside.from, "ISO 286-2 p6 on 46 mm");
        let said = insert.outside.by_class().unwrap();
        assert!(said.contains("46.0340 mm ± 0.0080 mm"), "{said}");
        let measured = InsertAsked {
            outside_mm: Some(46.021),
            ..asked.clone()
        };
        let insert = measured.insert(Some(46.0)).unwrap().unwrap();
        assert_eq!(insert.outside.mean_mm, 46.021);
        assert!(asked.insert(None).unwrap_err().contains("nominal size"));
        let hole = InsertAsked {
            outside_class: Some("H7".parse().unwrap()),
            ..asked
        };
        assert!(
            hole.insert(Some(46.0))
                .unwrap_err()
                .contains("small letter")
        );
    }
}
