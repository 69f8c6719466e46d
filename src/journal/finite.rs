//! Whether every number in a value is finite. JSON has no word for the others and the serialiser
//! writes them as null, which would come back as something else after a restart.

use std::fmt::Display;

use serde::Serialize;
use serde::ser::{
    self, Error as _, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant,
    SerializeTuple, SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

/// Refuses a value that holds a number that is not finite.
pub(super) fn check(value: &impl Serialize) -> Result<(), NotFinite> {
    value.serialize(Check)
}

/// A number was not finite.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub(super) struct NotFinite(String);

impl ser::Error for NotFinite {
    fn custom<T: Display>(message: T) -> Self {
        Self(message.to_string())
    }
}

/// Looks at every number and keeps nothing.
#[derive(Clone, Copy)]
struct Check;

/// Values without a number that could be infinite.
macro_rules! nothing {
    ($($method:ident($($kind:ty),*)),* $(,)?) => {
        $(fn $method(self, $(_: $kind),*) -> Result<(), NotFinite> { Ok(()) })*
    };
}

/// Values that hold others: the check goes on inside.
macro_rules! inside {
    ($($method:ident($($kind:ty),*)),* $(,)?) => {
        $(fn $method(self, $(_: $kind),*) -> Result<Check, NotFinite> { Ok(self) })*
    };
}

impl Serializer for Check {
    type Ok = ();
    type Error = NotFinite;
    type SerializeSeq = Self;
    type SerializeTuple = Self;
    type SerializeTupleStruct = Self;
    type SerializeTupleVariant = Self;
    type SerializeMap = Self;
    type SerializeStruct = Self;
    type SerializeStructVariant = Self;

    nothing! {
        serialize_bool(bool), serialize_i8(i8), serialize_i16(i16), serialize_i32(i32),
        serialize_i64(i64), serialize_i128(i128), serialize_u8(u8), serialize_u16(u16),
        serialize_u32(u32), serialize_u64(u64), serialize_u128(u128), serialize_char(char),
        serialize_str(&str), serialize_bytes(&[u8]), serialize_none(), serialize_unit(),
        serialize_unit_struct(&'static str),
        serialize_unit_variant(&'static str, u32, &'static str),
    }

    inside! {
        serialize_seq(Option<usize>),
        serialize_tuple(usize),
        serialize_tuple_struct(&'static str, usize),
        serialize_tuple_variant(&'static str, u32, &'static str, usize),
        serialize_map(Option<usize>),
        serialize_struct(&'static str, usize),
        serialize_struct_variant(&'static str, u32, &'static str, usize),
    }

    fn serialize_f32(self, value: f32) -> Result<(), NotFinite> {
        self.serialize_f64(f64::from(value))
    }

    fn serialize_f64(self, value: f64) -> Result<(), NotFinite> {
        if value.is_finite() {
            Ok(())
        } else {
            Err(NotFinite::custom(format_args!(
                "{value} is no number that can be kept"
            )))
        }
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        value: &T,
    ) -> Result<(), NotFinite> {
        value.serialize(self)
    }

    fn collect_str<T: Display + ?Sized>(self, _: &T) -> Result<(), NotFinite> {
        Ok(())
    }
}

/// One trait of a value that holds others.
macro_rules! holds {
    ($($holder:ident: $($method:ident($($name:ident: $kind:ty),*)),+;)*) => {
        $(impl $holder for Check {
            type Ok = ();
            type Error = NotFinite;

            $(fn $method<T: Serialize + ?Sized>(
                &mut self,
                $($name: $kind,)*
                value: &T,
            ) -> Result<(), NotFinite> {
                value.serialize(*self)
            })+

            fn end(self) -> Result<(), NotFinite> {
                Ok(())
            }
        })*
    };
}

holds! {
    SerializeSeq: serialize_element();
    SerializeTuple: serialize_element();
    SerializeTupleStruct: serialize_field();
    SerializeTupleVariant: serialize_field();
    SerializeMap: serialize_key(), serialize_value();
    SerializeStruct: serialize_field(_key: &'static str);
    SerializeStructVariant: serialize_field(_key: &'static str);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    #[serde(tag = "kind")]
    enum Deep {
        Holds {
            list: Vec<Option<f64>>,
            map: std::collections::BTreeMap<&'static str, f64>,
        },
    }

    #[derive(Serialize)]
    struct Outer {
        #[serde(flatten)]
        deep: Deep,
    }

    fn outer(in_list: f64, in_map: f64) -> Outer {
        let deep = Deep::Holds {
            list: vec![None, Some(in_list)],
            map: [("a", in_map)].into(),
        };
        Outer { deep }
    }

    #[test]
    fn a_number_that_is_not_finite_is_found_wherever_it_hides() {
        assert_eq!(check(&outer(1.0, 2.0)), Ok(()));
        assert!(check(&outer(f64::NAN, 2.0)).is_err());
        assert!(check(&outer(1.0, f64::NEG_INFINITY)).is_err());
        assert!(check(&(1.0, [f32::NAN])).is_err());
    }
}
