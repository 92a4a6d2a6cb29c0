//! What is stated of the part and how it is held.

use clap::{ArgAction, Args, Command};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// The options of `session open` and `analyse`, as the user wrote them: flags and fields in JSON at once, as those of a step are.
/// The daemon resolves them against its configuration; a bare length is in millimetres.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize, Args)]
#[serde(default)]
#[command(next_help_heading = "The set-up")]
pub struct SetupOptions {
    /// The taper that is wanted: a name, a ratio, a half angle, a name of your own, or session:12, what that session measured or set
    #[arg(long, value_name = "SPEC")]
    pub taper: Option<String>,
    /// The length over which an error is worth something on the part; the taper's own unless stated
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub length: Option<String>,
    /// What is allowed: AT4 (of the included angle), 5arcsec (of the half angle), 2um (on diameter), 1um/60mm
    #[arg(long, value_name = "TOLERANCE", allow_hyphen_values = true)]
    pub tolerance: Option<String>,
    /// The bar: a name of your own, or its centre distance; of a tangent bar the radii of its discs, 10/25
    #[arg(long, value_name = "C", allow_hyphen_values = true)]
    pub bar: Option<String>,
    /// What kind of bar it is: sine, hinged or tangent
    #[arg(long, value_name = "KIND")]
    pub bar_kind: Option<String>,
    /// What the stack must have added for this bar
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub bar_constant: Option<String>,
    /// The kit of gauge blocks that the stack comes from
    #[arg(long, value_name = "KIT")]
    pub kit: Option<String>,
    /// The distance along the travel from station A to station B
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub span: Option<String>,
    /// A further station, NAME=POSITION from A; may be given more than once
    #[arg(long = "station", value_name = "NAME=POSITION")]
    pub stations: Vec<String>,
    /// The order of one round: ABA, or names with blanks between
    #[arg(long, value_name = "STATIONS")]
    pub pass: Option<String>,
    /// The fixture, by name; a new name begins a new one
    #[arg(long, value_name = "NAME")]
    pub fixture: Option<String>,
    /// Where the set-up turns, from A along the travel, when it is known
    #[arg(long, value_name = "POSITION", allow_hyphen_values = true)]
    pub pivot: Option<String>,
    /// The station nearer the taper's big end: A or B
    #[arg(long, value_name = "STATION")]
    pub big_end: Option<String>,
    /// The side on which the indicator touches: wheel or opposite
    #[arg(long, value_name = "SIDE")]
    pub indicator_side: Option<String>,
    /// The cable of the indicator, or `typed`; the first in the configuration unless stated
    #[arg(long, value_name = "NAME")]
    pub cable: Option<String>,
    /// One step of the indicator's display
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub resolution: Option<String>,
    /// The indicator's largest error over the span used, to either side
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub indicator_error: Option<String>,
    /// How readings at one place repeat: the standard deviation of a single reading
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub repeatability: Option<String>,
    /// The size of one division, for readings in divisions
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub division: Option<String>,
    /// Straightness of the table's travel over the span, peak to valley
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub straightness: Option<String>,
    /// The largest error of a station's place, to either side
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub station_error: Option<String>,
    /// The band within which the readings of a mark must lie
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub settle_band: Option<String>,
}

/// An option of a set-up by its names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetupOption {
    /// Its key in a file: `big_end`.
    pub key: String,
    /// Its flag on a command line, without the hyphens before it: `big-end`.
    pub flag: String,
    /// Whether it may be stated more than once.
    pub many: bool,
}

/// An option that is stated, with one of its values as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedOption {
    /// Which one.
    pub option: SetupOption,
    /// As it was written.
    pub value: String,
}

/// What further options say of one: when that one is stated anew, theirs are of another thing and no longer hold.
const SAID_OF: [(&str, &[&str]); 5] = [
    ("bar", &["bar_kind", "bar_constant"]),
    ("span", &["stations", "pass"]),
    ("stations", &["pass"]),
    ("fixture", &["pivot"]),
    (
        "cable",
        &["resolution", "division", "indicator_error", "repeatability"],
    ),
];

impl SetupOptions {
    /// Every option in the order in which help lists them.
    #[must_use]
    pub fn all() -> Vec<SetupOption> {
        let command = Self::augment_args(Command::new("open"));
        let named = command.get_arguments().filter_map(|argument| {
            Some(SetupOption {
                key: argument.get_id().to_string(),
                flag: argument.get_long()?.to_owned(),
                many: matches!(argument.get_action(), ArgAction::Append),
            })
        });
        named.collect()
    }

    /// The options that are stated, in that order.
    ///
    /// ```
    /// use conewright_protocol::api::SetupOptions;
    /// let options = SetupOptions::of([("span", "80"), ("taper", "1:12"), ("stations", "C=40")]);
    /// let stated: Vec<_> = options.stated().into_iter().map(|s| (s.option.flag, s.value)).collect();
    /// assert_eq!(stated[0], ("taper".to_owned(), "1:12".to_owned()));
    /// assert_eq!(stated[2], ("station".to_owned(), "C=40".to_owned()));
    /// ```
    #[must_use]
    pub fn stated(&self) -> Vec<StatedOption> {
        let Ok(Value::Object(fields)) = serde_json::to_value(self) else {
            return Vec::new();
        };
        let values = |key: &str| match fields.get(key) {
            Some(Value::String(text)) => vec![text.clone()],
            Some(Value::Array(texts)) => texts
                .iter()
                .filter_map(|text| text.as_str().map(str::to_owned))
                .collect(),
            _ => Vec::new(),
        };
        let every = Self::all().into_iter();
        every
            .flat_map(|option| {
                let values = values(&option.key).into_iter();
                values
                    .map(|value| StatedOption {
                        option: option.clone(),
                        value,
                    })
                    .collect::<Vec<_>>()
            })
            .collect()
    }

    /// Options from keys with their values. A key that is no option is left out.
    #[must_use]
    pub fn of<'a>(stated: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let all = Self::all();
        let mut fields = Map::new();
        for (key, value) in stated {
            let value = Value::String(value.to_owned());
            match all.iter().find(|option| option.key == key) {
                Some(option) if option.many => {
                    let list = fields
                        .entry(key)
                        .or_insert_with(|| Value::Array(Vec::new()));
                    if let Value::Array(list) = list {
                        list.push(value);
                    }
                }
                Some(_) => {
                    fields.insert(key.to_owned(), value);
                }
                None => {}
            }
        }
        serde_json::from_value(Value::Object(fields)).unwrap_or_default()
    }

    /// These options, and for what they do not state those of `base`. What `base` says of a bar, a span, a fixture or a cable is
    /// left out where these options name another one.
    ///
    /// ```
    /// use conewright_protocol::api::SetupOptions;
    /// let base = SetupOptions::of([("taper", "1:12"), ("bar", "10/25"), ("bar_kind", "tangent")]);
    /// let given = SetupOptions::of([("bar", "100")]);
    /// assert_eq!(given.over(&base), SetupOptions::of([("taper", "1:12"), ("bar", "100")]));
    /// ```
    #[must_use]
    pub fn over(&self, base: &Self) -> Self {
        let given = self.stated();
        let is_given = |key: &str| given.iter().any(|stated| stated.option.key == key);
        let no_longer_holds = |key: &str| {
            let mut groups = SAID_OF.iter();
            groups.any(|(of, further)| further.contains(&key) && is_given(of))
        };
        let kept = base.stated();
        let kept = kept.iter().filter(|stated| {
            let key = stated.option.key.as_str();
            !is_given(key) && !no_longer_holds(key)
        });
        Self::of(
            kept.chain(&given)
                .map(|stated| (stated.option.key.as_str(), stated.value.as_str())),
        )
    }
}
