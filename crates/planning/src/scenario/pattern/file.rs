//! Patterns as the scenario file nests them: a name with its settings behind it, `Orbit(around: …, rings: …)`.
//!
//! A derived enum of types would want the settings in brackets of their own, `Orbit((around: …))`.

use crate::scenario::pattern::{Pattern, PatternKind};
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, Deserializer, EnumAccess, MapAccess, VariantAccess, Visitor};
use serde::ser::{Error, Impossible, Serialize, Serializer};
use std::fmt;
use std::marker::PhantomData;

const ENUM: &str = "Pattern";

impl Serialize for Pattern {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let place = self.kind() as u32;
        self.write(Named { to, place, name: PatternKind::KEYS[place as usize] })
    }
}

impl<'de> Deserialize<'de> for Pattern {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_enum(ENUM, PatternKind::KEYS, AnyPattern)
    }
}

struct AnyPattern;

impl<'de> Visitor<'de> for AnyPattern {
    type Value = Pattern;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a pattern")
    }

    fn visit_enum<A: EnumAccess<'de>>(self, data: A) -> Result<Pattern, A::Error> {
        let (kind, settings) = data.variant::<PatternKind>()?;
        kind.read(settings)
    }
}

/// Settings behind a name.
pub(super) fn read<'de, T: Deserialize<'de>, A: VariantAccess<'de>>(settings: A) -> Result<T, A::Error> {
    settings.struct_variant(&[], Fields(PhantomData))
}

/// The settings behind a name, read as the type reads them itself.
struct Fields<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for Fields<T> {
    type Value = T;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("the settings of a pattern")
    }

    fn visit_map<A: MapAccess<'de>>(self, fields: A) -> Result<T, A::Error> {
        T::deserialize(MapAccessDeserializer::new(fields))
    }
}

/// Writes the one struct that it is given as a variant with fields.
struct Named<S> {
    to: S,
    place: u32,
    name: &'static str,
}

/// What settings are not.
macro_rules! refused {
    ($($method:ident($($kind:ty),*);)*) => {
        $(fn $method(self, $(_: $kind),*) -> Result<S::Ok, S::Error> {
            Err(S::Error::custom("the settings of a pattern have names"))
        })*
    };
}

type No<S> = Impossible<<S as Serializer>::Ok, <S as Serializer>::Error>;

fn nothing<S: Serializer>() -> Result<No<S>, S::Error> {
    Err(S::Error::custom("the settings of a pattern have names"))
}

impl<S: Serializer> Serializer for Named<S> {
    type Ok = S::Ok;
    type Error = S::Error;
    type SerializeSeq = No<S>;
    type SerializeTuple = No<S>;
    type SerializeTupleStruct = No<S>;
    type SerializeTupleVariant = No<S>;
    type SerializeMap = No<S>;
    type SerializeStruct = AsStruct<S::SerializeStructVariant>;
    type SerializeStructVariant = No<S>;

    fn serialize_struct(self, _: &'static str, len: usize) -> Result<Self::SerializeStruct, S::Error> {
        self.to.serialize_struct_variant(ENUM, self.place, self.name, len).map(AsStruct)
    }

    refused! {
        serialize_bool(bool);
        serialize_i8(i8);
        serialize_i16(i16);
        serialize_i32(i32);
        serialize_i64(i64);
        serialize_u8(u8);
        serialize_u16(u16);
        serialize_u32(u32);
        serialize_u64(u64);
        serialize_f32(f32);
        serialize_f64(f64);
        serialize_char(char);
        serialize_str(&str);
        serialize_bytes(&[u8]);
        serialize_none();
        serialize_unit();
        serialize_unit_struct(&'static str);
        serialize_unit_variant(&'static str, u32, &'static str);
    }

    fn serialize_some<T: Serialize + ?Sized>(self, _: &T) -> Result<S::Ok, S::Error> {
        self.serialize_none()
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: &T,
    ) -> Result<S::Ok, S::Error> {
        self.serialize_none()
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: &T,
    ) -> Result<S::Ok, S::Error> {
        self.serialize_none()
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }

    fn serialize_tuple(self, _: usize) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }

    fn serialize_map(self, _: Option<usize>) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        _: &'static str,
        _: usize,
    ) -> Result<No<S>, S::Error> {
        nothing::<S>()
    }
}

/// A variant's fields, written as those of a struct.
struct AsStruct<V>(V);

impl<V: serde::ser::SerializeStructVariant> serde::ser::SerializeStruct for AsStruct<V> {
    type Ok = V::Ok;
    type Error = V::Error;

    fn serialize_field<T: Serialize + ?Sized>(
        &mut self,
        key: &'static str,
        value: &T,
    ) -> Result<(), V::Error> {
        self.0.serialize_field(key, value)
    }

    fn skip_field(&mut self, key: &'static str) -> Result<(), V::Error> {
        self.0.skip_field(key)
    }

    fn end(self) -> Result<V::Ok, V::Error> {
        self.0.end()
    }
}
