//! Reads a record in any valid RON, through the `ron` crate and within its limit on depth.

use crate::store::record::FIELDS;
use crate::store::record::Record;
use ron::extensions::Extensions;
use serde::Deserialize;

/// The record and how many of its fields are not ours; else the column of the trouble.
pub(super) fn parse(text: &str) -> Result<(Record<'_>, u32), (u64, String)> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let place = |error: ron::error::SpannedError| {
        (error.span.start.col.max(1) as u64, error.code.to_string())
    };
    let record: Record = options.from_str(text).map_err(place)?;
    let Names(unknown) = options.from_str(text).map_err(place)?;
    Ok((record, unknown))
}

/// How many of a record's fields are not ours.
struct Names(u32);

/// A field's name, which RON does not write in quotes; whether it is ours.
struct Name(bool);

impl<'de> Deserialize<'de> for Name {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Name, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Name;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a field's name")
            }
            fn visit_str<E>(self, name: &str) -> Result<Name, E> {
                Ok(Name(FIELDS.contains(&name)))
            }
        }
        deserializer.deserialize_identifier(Visitor)
    }
}

impl<'de> Deserialize<'de> for Names {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Names, D::Error> {
        struct Visitor;
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = Names;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a record")
            }
            fn visit_map<A: serde::de::MapAccess<'de>>(
                self,
                mut map: A,
            ) -> Result<Names, A::Error> {
                let mut unknown = 0;
                while let Some(Name(ours)) = map.next_key()? {
                    unknown += u32::from(!ours);
                    map.next_value::<serde::de::IgnoredAny>()?;
                }
                Ok(Names(unknown))
            }
        }
        deserializer.deserialize_struct("Record", FIELDS, Visitor)
    }
}
