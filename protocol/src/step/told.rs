//! What a kind of step is asked and what it answers, whatever the kind.

use crate::evidence::{Mark, Place};
use metrology::dial::IndicatorCheck;
use metrology::setup::{LearnedPivot, Setup};
use metrology::uncertainty::{Component, Undecided, Verdict};

/// A mark's place as the user names it, and what a kind may need to understand it.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The set-up, which may have a station of that name.
    pub setup: &'a Setup,
    /// The step's marks so far.
    pub marks: &'a [&'a Mark],
    /// What the mark would be about without a name.
    pub next: Option<&'a Place>,
    /// The name, without white space around it.
    pub text: &'a str,
}

/// What the next mark is for.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// What it is about; absent when only the user can say.
    pub place: Option<Place>,
    /// The round.
    pub round: u32,
}

impl Next {
    /// At a place that is known.
    #[must_use]
    pub const fn at(place: Place, round: u32) -> Self {
        Self {
            place: Some(place),
            round,
        }
    }
}

/// What an outcome is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// The part that is ground.
    Part,
    /// The set-up that it is ground in.
    Setup,
    /// The indicator that reads it.
    Indicator,
}

impl Subject {
    /// Its name in prose.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Part => "the part",
            Self::Setup => "the set-up",
            Self::Indicator => "the indicator",
        }
    }
}

/// How the readings that are recorded know their place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recorded<'a> {
    /// Along the travel.
    Travel {
        /// The cable that reports the table's position; none at a steady feed.
        position_cable: Option<&'a str>,
    },
    /// Round a turn.
    Turn,
}

impl<'a> Recorded<'a> {
    /// The flag of the option that asks for it.
    #[must_use]
    pub const fn flag(self) -> &'static str {
        match self {
            Self::Travel { .. } => "--positions",
            Self::Turn => "--angles",
        }
    }

    /// The cable that is recorded beside the indicator's.
    #[must_use]
    pub const fn position_cable(self) -> Option<&'a str> {
        match self {
            Self::Travel { position_cable } => position_cable,
            Self::Turn => None,
        }
    }
}

/// What outcomes of every kind say.
#[derive(Debug, Clone, Copy, Default)]
pub struct Said<'a> {
    /// The decision, where the step can make one and a tolerance was stated.
    pub verdict: Option<Verdict>,
    /// Why it is undecided, when it is.
    pub undecided_because: Option<Undecided>,
    /// The budget, largest first; empty for a judgement by eye.
    pub budget: &'a [Component],
    /// What was done to the readings, in sentences.
    pub corrections: &'a [String],
    /// What else the user should know, in sentences.
    pub remarks: &'a [String],
    /// The first round that disagrees with those before it, where the user has to say why.
    pub disagrees_from_round: Option<u32>,
}

/// What an outcome teaches the steps after it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Taught {
    /// The half angle's error, arc-seconds, steeper positive, with its expanded uncertainty.
    pub half_angle_arcsec: Option<[f64; 2]>,
    /// What the indicator is worth.
    pub check: Option<IndicatorCheck>,
    /// Where the fixture turns.
    pub pivot: Option<LearnedPivot>,
    /// The changes of slope on tightening the fixture's clamp, in order.
    pub clamp_shifts: Vec<f64>,
}
