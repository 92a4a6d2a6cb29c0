//! A record that is read piece by piece: its readings are handed on as they come, so that nobody needs to hold them all.

use super::{FORMAT, ReadError, Record, StepRecord, VERSION};
use crate::evidence::{Reading, Readings};
use serde::de::{self, DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;
use std::io::{self, Read};

/// Takes the readings of a record in the order in which it has them.
pub trait Taker {
    /// A step begins. Its marks and its plan are there; its readings and its outcome are not.
    ///
    /// # Errors
    /// What was made of it cannot be passed on; so with all that follow.
    fn step(&mut self, step: &StepRecord) -> io::Result<()>;

    /// The readings of a cable begin.
    ///
    /// # Errors
    /// As [`Taker::step`].
    fn cable(&mut self, cable: &str) -> io::Result<()>;

    /// The next reading of that cable.
    ///
    /// # Errors
    /// As [`Taker::step`].
    fn reading(&mut self, reading: &Reading) -> io::Result<()>;

    /// The step has no more readings. Returns those that the record shall keep.
    ///
    /// # Errors
    /// As [`Taker::step`].
    fn step_ends(&mut self) -> io::Result<Readings>;
}

/// Why a record was not read to its end.
#[derive(Debug, thiserror::Error)]
pub enum PieceError {
    /// It is not a record that can be read.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The text does not come to its end, or what is made of it cannot be passed on.
    #[error(transparent)]
    Out(#[from] io::Error),
}

impl Record {
    /// Reads a record and hands its readings on, one at a time. `begin` makes their taker from what stands before the steps. Each step
    /// of the returned record has the readings that the taker kept, and everything else as it was written.
    ///
    /// # Errors
    /// [`PieceError::Read`]: no JSON, another format, a newer version, or a step with its readings before its marks; and what `begin` or
    /// the taker reports.
    pub fn read_by_piece<T: Taker>(
        from: impl Read,
        begin: impl FnOnce(&Self) -> io::Result<T>,
    ) -> Result<(Self, T), PieceError> {
        let mut failed = None;
        let mut json = serde_json::Deserializer::from_reader(from);
        let read = Whole {
            begin,
            failed: &mut failed,
        }
        .deserialize(&mut json)
        .and_then(|read| json.end().map(|()| read));
        read.map_err(|error| match failed {
            Some(why) => why,
            None if error.is_io() => io::Error::from(error).into(),
            None => ReadError::Malformed(error.to_string()).into(),
        })
    }

    /// Hands the readings of a record on as [`Record::read_by_piece`] does.
    ///
    /// # Errors
    /// Those of the taker.
    pub fn hand_on(&self, taker: &mut impl Taker) -> io::Result<()> {
        for step in &self.steps {
            taker.step(step)?;
            for (cable, readings) in &step.evidence.readings {
                taker.cable(cable)?;
                for reading in readings {
                    taker.reading(reading)?;
                }
            }
            taker.step_ends()?;
        }
        Ok(())
    }
}

/// Notes why reading ends here. The library's own error cannot hold the reason.
fn end<E: de::Error>(failed: &mut Option<PieceError>, why: impl Into<PieceError>) -> E {
    *failed = Some(why.into());
    E::custom("the record is not read further")
}

/// Fields as a typed value.
fn typed<T: de::DeserializeOwned, E: de::Error>(fields: &Value) -> Result<T, E> {
    T::deserialize(fields).map_err(E::custom)
}

/// What stands before the steps, as a record without any.
fn head(fields: Map<String, Value>) -> Result<Record, ReadError> {
    let format = fields.get("format").and_then(Value::as_str);
    if format != Some(FORMAT) {
        return Err(ReadError::OtherFormat(
            format.unwrap_or_default().to_owned(),
        ));
    }
    let version = fields.get("version").and_then(Value::as_u64);
    if let Some(newer) = version.filter(|version| *version > u64::from(VERSION)) {
        return Err(ReadError::Newer(u32::try_from(newer).unwrap_or(u32::MAX)));
    }
    let mut fields = fields;
    for list in ["steps", "events", "cautions"] {
        fields.insert(list.to_owned(), Value::Array(Vec::new()));
    }
    fields.insert("digest".to_owned(), Value::from(""));
    serde_json::from_value(Value::Object(fields))
        .map_err(|error| ReadError::Malformed(error.to_string()))
}

/// The record.
struct Whole<'a, B> {
    begin: B,
    failed: &'a mut Option<PieceError>,
}

impl<'de, T: Taker, B: FnOnce(&Record) -> io::Result<T>> DeserializeSeed<'de> for Whole<'_, B> {
    type Value = (Record, T);

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Self::Value, D::Error> {
        from.deserialize_map(self)
    }
}

impl<'de, T: Taker, B: FnOnce(&Record) -> io::Result<T>> Visitor<'de> for Whole<'_, B> {
    type Value = (Record, T);

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a record")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let Self { begin, failed } = self;
        let mut fields = Map::new();
        let mut begin = Some(begin);
        let mut found = None;
        while let Some(key) = map.next_key::<String>()? {
            match begin.take_if(|_| key == "steps") {
                None => drop(fields.insert(key, map.next_value()?)),
                Some(begin) => {
                    let head = head(fields.clone()).map_err(|why| end(failed, why))?;
                    let mut taker = begin(&head).map_err(|why| end(failed, why))?;
                    let steps = map.next_value_seed(Steps {
                        taker: &mut taker,
                        failed,
                    })?;
                    found = Some((steps, taker));
                }
            }
        }
        let Some((steps, taker)) = found else {
            head(fields).map_err(|why| end(failed, why))?;
            return Err(de::Error::missing_field("steps"));
        };
        fields.insert("steps".to_owned(), Value::Array(Vec::new()));
        let mut record: Record = typed(&Value::Object(fields))?;
        record.steps = steps;
        Ok((record, taker))
    }
}

/// A part of the record, and who takes its readings.
struct Steps<'a, T> {
    taker: &'a mut T,
    failed: &'a mut Option<PieceError>,
}

impl<'de, T: Taker> DeserializeSeed<'de> for Steps<'_, T> {
    type Value = Vec<StepRecord>;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Self::Value, D::Error> {
        from.deserialize_seq(self)
    }
}

impl<'de, T: Taker> Visitor<'de> for Steps<'_, T> {
    type Value = Vec<StepRecord>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the steps")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Self::Value, A::Error> {
        let Self { taker, failed } = self;
        let mut steps = Vec::new();
        while let Some(step) = items.next_element_seed(Step { taker, failed })? {
            steps.push(step);
        }
        Ok(steps)
    }
}

struct Step<'a, T> {
    taker: &'a mut T,
    failed: &'a mut Option<PieceError>,
}

impl<'de, T: Taker> DeserializeSeed<'de> for Step<'_, T> {
    type Value = StepRecord;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Self::Value, D::Error> {
        from.deserialize_map(self)
    }
}

impl<'de, T: Taker> Visitor<'de> for Step<'_, T> {
    type Value = StepRecord;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a step")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let Self { taker, failed } = self;
        let mut fields = Value::Object(Map::new());
        let mut kept = Readings::new();
        while let Some(key) = map.next_key::<String>()? {
            if key == "readings" {
                fields[key] = Value::Object(Map::new());
                let step: StepRecord = typed(&fields)?;
                taker.step(&step).map_err(|why| end(failed, why))?;
                map.next_value_seed(Cables { taker, failed })?;
                kept = taker.step_ends().map_err(|why| end(failed, why))?;
            } else {
                fields[key] = map.next_value()?;
            }
        }
        let mut step: StepRecord = typed(&fields)?;
        step.evidence.readings = kept;
        Ok(step)
    }
}

/// The readings of a step, by cable.
struct Cables<'a, T> {
    taker: &'a mut T,
    failed: &'a mut Option<PieceError>,
}

impl<'de, T: Taker> DeserializeSeed<'de> for Cables<'_, T> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_map(self)
    }
}

impl<'de, T: Taker> Visitor<'de> for Cables<'_, T> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("readings by the name of their cable")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let Self { taker, failed } = self;
        while let Some(cable) = map.next_key::<String>()? {
            taker.cable(&cable).map_err(|why| end(failed, why))?;
            map.next_value_seed(OfCable { taker, failed })?;
        }
        Ok(())
    }
}

/// The readings of one cable.
struct OfCable<'a, T> {
    taker: &'a mut T,
    failed: &'a mut Option<PieceError>,
}

impl<'de, T: Taker> DeserializeSeed<'de> for OfCable<'_, T> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_seq(self)
    }
}

impl<'de, T: Taker> Visitor<'de> for OfCable<'_, T> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("readings")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<(), A::Error> {
        let Self { taker, failed } = self;
        while let Some(reading) = items.next_element::<Reading>()? {
            taker.reading(&reading).map_err(|why| end(failed, why))?;
        }
        Ok(())
    }
}
