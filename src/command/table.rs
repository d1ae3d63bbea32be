//! The argument table: every command and flag once. It feeds the parser, `--help`, the man
//! page and the completions.

use std::path::PathBuf;

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime};
use clap::{ArgAction, Args, Parser, Subcommand, ValueEnum};

use super::ahead_table::{ForecastArgs, HoursArgs, NextArgs};
use super::layer::{ChipArgs, LayerArgs};
use super::photo::PhotoArgs;
use super::reckon::ReckonArgs;
use crate::card::{PeopleShown, Units};
use crate::shop::Carving;

/// A bench companion for people who restore antique carved, painted and gilded wooden figures
///
/// Without a command the terminal interface opens. Exit codes: 0 well, 1 something found
/// wrong, 2 misuse or bad input, 3 something could not be read or written.
#[derive(Debug, Clone, Parser)]
#[command(
    name = "knuckle",
    version,
    disable_help_subcommand = true,
    disable_help_flag = true,
    term_width = 80
)]
pub struct Door {
    /// What every command takes.
    #[command(flatten)]
    pub common: Common,
    /// The command; none opens the screen.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The flags that every command takes.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "With every command")]
pub struct Common {
    /// Folder of the shop; else the nearest one upwards, else the one used last
    #[arg(long, global = true, value_name = "DIR")]
    pub shop: Option<PathBuf>,
    /// Who writes: a short name from the shop card
    #[arg(id = "as", long = "as", global = true, value_name = "NAME")]
    pub by: Option<String>,
    /// Answer in JSON, one flat object per line
    #[arg(long, global = true)]
    pub json: bool,
    /// Units shown; journals and JSON are always metric
    #[arg(long, global = true, value_enum, value_name = "UNITS")]
    pub units: Option<UnitsShown>,
    /// Run as if it were this moment, such as 2026-11-25T08:00:00+00:00; writes to practice shops only
    #[arg(long, global = true, value_name = "TIME", value_parser = moment)]
    pub clock: Option<DateTime<FixedOffset>>,
    /// Say this
    #[arg(long, short, global = true, action = ArgAction::HelpShort)]
    pub help: Option<bool>,
}

/// The commands, in the order of help.
#[derive(Debug, Clone, Subcommand)]
pub enum Command {
    /// Open the screen, at a figure if one is named
    Bench(BenchArgs),
    /// Open the screen on a throw-away copy of the sample shop, its clock sped if you like
    Practice(PracticeArgs),
    /// The day's journal over all books, or the supervisor's page of it
    Day(DayArgs),
    /// Where all figures stand, or one of them in full
    Standing(StandingArgs),
    /// All running clocks, what dies first first
    Clocks,
    /// Note a line in a figure's journal, or in the shop's own
    Jot(JotArgs),
    /// Take photographs into a figure's folder, with their hash
    Photo(PhotoArgs),
    /// Note or tie a layer of old paint; without a place, tell the layer table
    Layer(LayerArgs),
    /// Measure a chip of new colour against an old layer
    Chip(ChipArgs),
    /// Note a reading of a room's air, by hand or from a sensor
    Air(AirArgs),
    /// Note a reading of a figure, or a word of a test, that was taken earlier
    Read(ReadingArgs),
    /// When to lay size this evening, so that leaf falls between ready and dead tomorrow
    Tonight(TonightArgs),
    /// Where a lot was used, what touched a figure, what was laid in such air, or a few words
    Recall(RecallArgs),
    /// What is on the shelf, what is left of it, and what the routes still need
    Stock,
    /// Open a tin, or pour one into a jar
    Lot(LotArgs),
    /// The treatment report of a figure: for its owner, for paper, or as a folder for thirty years
    Report(ReportArgs),
    /// What to do with the time at hand: three choices, with what is lost without each
    Next(NextArgs),
    /// When each figure is done, as a range, and what moves it
    Forecast(ForecastArgs),
    /// Hours of hands by block of the work, and their cost where the shop card has a price
    Hours(HoursArgs),
    /// Ring the alarms of all benches without the screen, for a machine that only rings
    Ring(RingArgs),
    /// List the lots with times of their own, or let one replace its sheet
    Trust(TrustArgs),
    /// List what waits for a signature or an answer, or give one
    Sign(SignArgs),
    /// Read every card of the shop and tell all flaws with their places
    Check,
    /// Read every journal and tell broken seals, gaps, torn ends and clocks set back
    Audit(AuditArgs),
    /// Make a new shop
    OpenShop(OpenShopArgs),
    /// Make the folder and the card of a new figure
    TakeIn(TakeInArgs),
    /// The trade's arithmetic on its own
    Reckon(ReckonArgs),
    /// Print the manual page
    #[command(hide = true)]
    Man,
    /// Print completions for a shell
    #[command(hide = true)]
    Completions(CompletionsArgs),
}

/// Units that can be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsShown {
    /// Millimetres, grams, °C
    Metric,
    /// Inches, ounces, °F
    Inch,
}

impl From<UnitsShown> for Units {
    fn from(units: UnitsShown) -> Self {
        match units {
            UnitsShown::Metric => Self::Metric,
            UnitsShown::Inch => Self::Inch,
        }
    }
}

/// The arguments of `bench`.
#[derive(Debug, Clone, Default, Args)]
pub struct BenchArgs {
    /// Short name of the figure to begin with
    pub figure: Option<String>,
}

/// The arguments of `practice`.
#[derive(Debug, Clone, Args)]
pub struct PracticeArgs {
    /// How many times faster than the wall its clock runs, 1 to 3600
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<1, 3600>, allow_negative_numbers = true)]
    pub speed: u32,
}

/// The arguments of `day`.
#[derive(Debug, Clone, Args)]
pub struct DayArgs {
    /// The date, such as 2026-11-25; today if left out
    #[arg(value_parser = date)]
    pub date: Option<NaiveDate>,
    /// Only this figure; `shop` for the shop's own journal
    #[arg(long, value_name = "FIGURE")]
    pub figure: Option<String>,
    /// Only what this person or sensor did, on the page also what waits for them; `--as` says
    /// who asks and narrows nothing
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// The whole week of the date, Monday to Sunday
    #[arg(long)]
    pub week: bool,
    /// The supervisor's page: what moved, waits, was overruled, is overdue, comes tomorrow
    #[arg(long)]
    pub page: bool,
    /// One line in full by its number, such as hare:12: who, when, where, how much, which air,
    /// and what corrects it
    #[arg(long, value_name = "BOOK:N", conflicts_with_all = ["page", "week", "figure", "by", "date", "out"])]
    pub line: Option<String>,
    /// The file to write the page to: .html, .pdf or .txt
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Let a file that is there give way
    #[arg(long, requires = "out")]
    pub replace: bool,
}

/// The arguments of `report`.
#[derive(Debug, Clone, Args)]
pub struct ReportArgs {
    /// Short name of the figure
    pub figure: String,
    /// The file to write it to: .html, .pdf or .txt; the terminal if left out
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Let a file that is there give way
    #[arg(long, requires = "out")]
    pub replace: bool,
    /// A folder to make with the whole record: report, tables, pictures, cards, journal, sums
    #[arg(long, value_name = "DIR", conflicts_with = "out")]
    pub folder: Option<PathBuf>,
    /// How people are named; as the shop card says if left out
    #[arg(long, value_enum, value_name = "HOW")]
    pub names: Option<NamesShown>,
}

/// How people can be named on a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum NamesShown {
    /// By their trades
    Outward,
    /// By their names
    Inward,
}

impl From<NamesShown> for PeopleShown {
    fn from(names: NamesShown) -> Self {
        match names {
            NamesShown::Outward => Self::Outward,
            NamesShown::Inward => Self::Inward,
        }
    }
}

/// The arguments of `audit`.
#[derive(Debug, Clone, Args)]
pub struct AuditArgs {
    /// A folder that `report --folder` made, held against its own sums; the shop if left out
    pub folder: Option<PathBuf>,
}

/// The arguments of `standing`.
#[derive(Debug, Clone, Args)]
pub struct StandingArgs {
    /// Short name of a figure; all figures if left out
    pub figure: Option<String>,
}

/// The arguments of `jot`.
#[derive(Debug, Clone, Args)]
pub struct JotArgs {
    /// Short name of the figure; `shop` for the shop's own journal
    pub figure: String,
    /// The note
    #[arg(required = true)]
    pub text: Vec<String>,
}

/// The arguments of `air`.
#[derive(Debug, Clone, Args)]
pub struct AirArgs {
    /// Short name of the room
    #[arg(required_unless_present = "from_sensors")]
    pub room: Option<String>,
    /// Air temperature with its unit, such as 21C or 70F
    #[arg(
        long,
        value_name = "T",
        allow_hyphen_values = true,
        required_unless_present = "from_sensors"
    )]
    pub temp: Option<String>,
    /// Relative humidity, such as 50%
    #[arg(
        long,
        value_name = "RH",
        allow_hyphen_values = true,
        required_unless_present = "from_sensors"
    )]
    pub humidity: Option<String>,
    /// One reading for each room with a sensor on the shop card
    #[arg(long, conflicts_with_all = ["room", "temp", "humidity", "source"])]
    pub from_sensors: bool,
    /// Folder in which the system shows its devices
    #[arg(
        long,
        value_name = "DIR",
        default_value = "/sys",
        requires = "from_sensors"
    )]
    pub devices: PathBuf,
    /// When it was read, if it is entered after the fact, such as "2026-11-25 08:30"
    #[arg(long, value_name = "TIME", value_parser = typed_moment, conflicts_with = "from_sensors")]
    pub at: Option<TypedMoment>,
    /// Name of the sensor that read it; it then signs the line itself, and --as is not needed
    #[arg(long, value_name = "NAME")]
    pub source: Option<String>,
}

/// The arguments of `read`.
#[derive(Debug, Clone, Args)]
pub struct ReadingArgs {
    /// Short name of the figure
    pub figure: String,
    /// What was read, such as moisture-core, ph or size
    pub what: String,
    /// The value with its unit, such as 13.1% or 18C; of a test its word, such as sticky
    pub value: String,
    /// Zone, joint or panel; may be left out where only one can be meant
    #[arg(long, value_name = "PART")]
    pub target: Option<String>,
    /// The place on it, where a step asks at several, such as edge
    #[arg(long, value_name = "PLACE")]
    pub place: Option<String>,
    /// When it was read, if that was not now, such as "2026-11-25 08:30"
    #[arg(long, value_name = "TIME", value_parser = typed_moment)]
    pub at: Option<TypedMoment>,
    /// Take a value outside its usual range: the slip was looked at again
    #[arg(long)]
    pub looked_again: bool,
}

/// The arguments of `tonight`.
#[derive(Debug, Clone, Args)]
pub struct TonightArgs {
    /// Short name of the figure
    pub figure: String,
    /// Only this panel, once for each; all that wait for leaf if left out
    #[arg(long, value_name = "PANEL")]
    pub panel: Vec<String>,
    /// Short name of the size; the one that works best if left out
    #[arg(long, value_name = "MATERIAL")]
    pub size: Option<String>,
    /// Gilders there tomorrow
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = whole::<1, 20>, allow_negative_numbers = true)]
    pub gilders: u32,
    /// Leaves that this gilder lays and faults in an hour; the slow end of the trade if left out
    #[arg(long, value_name = "N", value_parser = whole::<1, 500>, allow_negative_numbers = true)]
    pub leaves_per_h: Option<u32>,
}

/// The arguments of `recall`.
#[derive(Debug, Clone, Args)]
pub struct RecallArgs {
    /// Words that a line holds, such as oil glaze november; the newest lines come first
    #[arg(conflicts_with_all = ["lot", "figure", "humidity_above", "colder_than"])]
    pub words: Vec<String>,
    /// Everywhere that this lot or jar went, through jars and mixes
    #[arg(long, value_name = "LOT", conflicts_with_all = ["figure", "humidity_above", "colder_than"])]
    pub lot: Option<String>,
    /// Everything that touched this figure, back to the tins
    #[arg(long, value_name = "FIGURE", conflicts_with_all = ["humidity_above", "colder_than"])]
    pub figure: Option<String>,
    /// Only what touched this zone, joint or panel of it
    #[arg(long, value_name = "ZONE", requires = "figure")]
    pub zone: Option<String>,
    /// Everything laid in damper air than this, such as 80%
    #[arg(long, value_name = "RH", allow_hyphen_values = true)]
    pub humidity_above: Option<String>,
    /// Everything laid in colder air than this, such as 12C
    #[arg(long, value_name = "T", allow_hyphen_values = true)]
    pub colder_than: Option<String>,
    /// How many lines words bring back at most
    #[arg(long, value_name = "N", default_value_t = 50)]
    pub most: usize,
}

/// The arguments of `lot`.
#[derive(Debug, Clone, Args)]
pub struct LotArgs {
    /// What is done with it.
    #[command(subcommand)]
    pub act: LotAct,
}

/// What is done with a lot.
#[derive(Debug, Clone, Subcommand)]
pub enum LotAct {
    /// Open a tin: one that stands sealed on a card, or one that came since
    Open {
        /// Short name of the material
        material: String,
        /// Number on the tin
        lot: String,
        /// Which part of a two-part material, a (resin) or b (hardener)
        #[arg(
            long,
            value_name = "PART",
            default_value = "",
            hide_default_value = true
        )]
        part: String,
        /// Use by, such as 2027-10-31
        #[arg(long, value_name = "DATE", value_parser = date)]
        expires: Option<NaiveDate>,
        /// What it holds when full, such as 1000g, 750ml or 25leaves
        #[arg(long, value_name = "AMOUNT")]
        holds: Option<String>,
        /// What all of it cost, in the shop's money; of leaf without --holds, one book
        #[arg(long, value_name = "PRICE")]
        price: Option<f64>,
    },
    /// Pour a lot or a jar into another jar, which recall follows
    Decant {
        /// The lot or jar it comes from
        lot: String,
        /// Name of the new jar; without it the lot and a count
        #[arg(default_value = "", hide_default_value = true)]
        into: String,
    },
}

/// The arguments of `ring`.
#[derive(Debug, Clone, Args)]
pub struct RingArgs {
    /// Tell what rings now, and end
    #[arg(long)]
    pub once: bool,
}

/// The arguments of `trust`.
#[derive(Debug, Clone, Args)]
pub struct TrustArgs {
    /// Lot on the tin; of two parts both, as `A + B`. Nothing lists the lots
    pub lot: Vec<String>,
}

/// The arguments of `sign`.
#[derive(Debug, Clone, Args)]
pub struct SignArgs {
    /// Short name of the figure, or a line as it is named everywhere, such as hare:12; nothing
    /// lists what waits
    pub figure: Option<String>,
    /// Line number of a deviation, overrule or question, or the operation whose hold point waits
    #[arg(value_name = "LINE|OPERATION")]
    pub what: Option<String>,
    /// Zone, joint or panel of the operation
    pub target: Option<String>,
    /// Accept it; a question is answered with --why
    #[arg(long, group = "word", requires = "figure")]
    pub accept: bool,
    /// Refuse it; needs --why
    #[arg(long, group = "word", requires = "figure")]
    pub refuse: bool,
    /// Show once more what was refused; --why says what was put right
    #[arg(long, group = "word", requires = "figure")]
    pub again: bool,
    /// Why, or a remark
    #[arg(
        long,
        value_name = "WORDS",
        default_value = "",
        hide_default_value = true
    )]
    pub why: String,
}

/// The arguments of `open-shop`.
#[derive(Debug, Clone, Args)]
pub struct OpenShopArgs {
    /// The folder to make, or an empty one
    pub dir: PathBuf,
}

/// The arguments of `take-in`.
#[derive(Debug, Clone, Args)]
pub struct TakeInArgs {
    /// Short name of the new figure: small letters, digits, hyphens
    pub figure: String,
    /// What it is, for the zones to begin with
    #[arg(long, value_enum, default_value_t = CarvingKind::Other)]
    pub carving: CarvingKind,
}

/// What a new figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CarvingKind {
    /// An animal with saddle and trappings
    Animal,
    /// A standing figure
    Standing,
    /// Anything else
    Other,
}

impl From<CarvingKind> for Carving {
    fn from(kind: CarvingKind) -> Self {
        match kind {
            CarvingKind::Animal => Self::Animal,
            CarvingKind::Standing => Self::Standing,
            CarvingKind::Other => Self::Other,
        }
    }
}

/// The arguments of `completions`.
#[derive(Debug, Clone, Args)]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Reads a whole number within bounds.
pub(super) fn whole<const FROM: u32, const TO: u32>(text: &str) -> Result<u32, String> {
    let number = text.trim().parse().ok();
    number
        .filter(|number| (FROM..=TO).contains(number))
        .ok_or_else(|| format!("write a whole number from {FROM} to {TO}"))
}

/// Reads a date.
fn date(text: &str) -> Result<NaiveDate, String> {
    text.parse()
        .map_err(|_not_a_date| "write a date such as 2026-11-25".to_owned())
}

/// Reads a moment with its offset.
fn moment(text: &str) -> Result<DateTime<FixedOffset>, String> {
    DateTime::parse_from_rfc3339(text).map_err(|_not_a_moment| {
        "write date, time and offset, such as 2026-11-25T08:00:00+00:00".to_owned()
    })
}

/// A moment as it was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TypedMoment {
    /// With its offset.
    Sure(DateTime<FixedOffset>),
    /// By the clock on the shop's wall.
    OnTheWall(NaiveDateTime),
}

/// Reads a moment, with or without its offset.
fn typed_moment(text: &str) -> Result<TypedMoment, String> {
    let text = text.trim();
    if let Ok(sure) = DateTime::parse_from_rfc3339(text) {
        return Ok(TypedMoment::Sure(sure));
    }
    let ways = [
        "%Y-%m-%dT%H:%M",
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H:%M:%S",
    ];
    let mut read = ways
        .iter()
        .filter_map(|way| NaiveDateTime::parse_from_str(text, way).ok());
    read.next().map(TypedMoment::OnTheWall).ok_or_else(|| {
        "write date and time of the shop, such as \"2026-11-25 08:30\", \
         or with the offset, such as 2026-11-25T08:30:00+00:00"
            .to_owned()
    })
}
