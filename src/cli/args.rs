//! The command line: what can be asked, in the order a builder meets it.

use crate::report::beside::{RescaleAnswer, SizeAnswer};
use crate::report::check::CheckAnswer;
use crate::report::glue::GlueAnswer;
use crate::report::log::LogAnswer;
use crate::report::pair::{PairAnswer, PairGlueAnswer, PairReport, PairShotAnswer, PairSizeAnswer};
use crate::report::series::SeriesReport;
use crate::report::sleds::SledsAnswer;
use crate::report::woods::WoodsAnswer;
use crate::report::{BowRow, LaminationPasses, Report, ShotRow, schema};
use crate::write::tile::Printed;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Sleds, pass schedules and full-size templates for laminated bows.
///
/// A bow is described in one build file (TOML). `new` writes a commented one to start from, `make` turns it into
/// everything that goes into the shop.
#[derive(Debug, Parser)]
#[command(name = "taperwright", version, about, propagate_version = true, max_term_width = 100)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
    /// Colour on the terminal.
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub color: Colour,
    /// Nothing on stderr but faults.
    #[arg(long, short, global = true)]
    pub quiet: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    Auto,
    Always,
    Never,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented build file to start from
    New(NewArgs),
    /// Read a build file and name every fault and warning in it
    Check(CheckArgs),
    /// Write sleds, schedules, templates and the report into a folder
    Make(MakeArgs),
    /// Try the bow in a browser: drag a thickness or a weight and see it bend
    Bench(BenchArgs),
    /// Print the pass schedule for the sander
    Passes(PassesArgs),
    /// Print the ways in which each sled can be made, the simplest that holds the tolerance first
    Sleds(SledsArgs),
    /// Print what the stack draws: force, energy, string, strain
    Bow(BowArgs),
    /// Print what the bow shoots: arrow speed, efficiency, and what lighter parts are worth
    Shot(ShotArgs),
    /// Print what each stage of the glue-up leaves, and the props or form for what is wanted
    Glue(GlueArgs),
    /// Solve the stack for its draw weight
    Size(SizeArgs),
    /// Solve bows of several weights from one form, and name the sleds that serve them
    Series(SeriesArgs),
    /// Read the shop log and restate what is left to do; `log add` writes a reading into it
    Log(LogArgs),
    /// Carry the bow to another length
    Rescale(RescaleArgs),
    /// List the materials with their numbers and sources
    Woods(WoodsArgs),
    /// Print the schema of `report.json`, or of what a command prints with `--json`
    Schema(SchemaArgs),
    /// Print completions for a shell
    Completions(CompletionsArgs),
}

#[derive(Debug, Args)]
pub struct BenchArgs {
    /// The build file; without one the page begins a new bow.
    pub file: Option<PathBuf>,
    /// The log of its readings; begun with the first of them [default: NAME-log.toml beside the build file].
    pub log: Option<PathBuf>,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE", requires = "file")]
    pub lower: Option<PathBuf>,
    /// Port on this machine [default: any free one].
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    pub port: u16,
    /// Print the address and open no browser.
    #[arg(long)]
    pub no_open: bool,
    /// Let phones come in that are paired at the desk: this machine's address on the shop's own network, such as 192.168.1.20 or
    /// 192.168.1.20:8040. They read, and add to the log. Whoever is on that network can read along.
    #[arg(long, value_name = "ADDRESS")]
    pub shop: Option<String>,
    /// What phones call this machine, where it has a name on that network, such as bench.lan [default: ADDRESS].
    #[arg(long, value_name = "NAME", requires = "shop")]
    pub shop_name: Option<String>,
}

#[derive(Debug, Args)]
pub struct NewArgs {
    /// The build file to write; it must not exist yet.
    pub file: PathBuf,
    /// Units of bare numbers in the file.
    #[arg(long, value_enum, default_value_t = UnitsArg::In)]
    pub units: UnitsArg,
    /// Kind of bow.
    #[arg(long, value_enum, default_value_t = StyleArg::Flatbow)]
    pub style: StyleArg,
    /// Name of the bow.
    #[arg(long)]
    pub title: Option<String>,
    /// Nock to nock along the back, in the file's units or with its own, such as `"66 in"` [default: 68 in or 1730 mm, 4 in or 100 mm
    /// more for a longbow].
    #[arg(long, value_name = "LENGTH")]
    pub length: Option<String>,
    /// Draw weight wanted, such as `"45 lbf"`; a bare number is pounds in an inch file, newtons in a millimetre file [default: 42 lbf
    /// or 190 N].
    #[arg(long, value_name = "FORCE")]
    pub draw_weight: Option<String>,
    /// Draw length in the file's units or with its own, by the trade's standard (pivot point + 1 3/4 in) [default: 28 in or 711 mm].
    #[arg(long, value_name = "LENGTH")]
    pub draw_length: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum StyleArg {
    /// Wide in the inner limb, flat in section.
    Flatbow,
    /// Narrow and deep, two cores.
    Longbow,
    /// Two cores between glass on both faces, which climbs the riser on the belly side.
    Glass,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    In,
    Mm,
}

#[derive(Debug, Args)]
pub struct CheckArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Faults and warnings as JSON on stdout.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct MakeArgs {
    /// The build file.
    pub file: PathBuf,
    /// Build file of the lower limb, if it differs: FILE is then the upper one. What both share goes into `shared`, the rest into `upper` and `lower`.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// Folder to write into [default: output/NAME-OF-THE-BUILD-FILE].
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Only these parts, by the start of their names, such as `sled-core,passes`; files made before stay.
    #[arg(long, value_name = "PART", value_delimiter = ',')]
    pub only: Vec<String>,
    /// What a 100 mm scale check measured on your print, across and up, such as `99.2x99.6`: corrects each axis of the PDFs.
    #[arg(long, value_name = "XxY", value_parser = Printed::read)]
    pub printed: Option<Printed>,
    /// The report on stdout as JSON, too.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct PassesArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Only this lamination.
    pub lamination: Option<String>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct SledsArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Only the sled of this lamination.
    pub lamination: Option<String>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct BowArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct ShotArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// The log of its readings: `shot` readings in it tell what the limbs keep.
    #[arg(long, value_name = "LOG")]
    pub log: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct GlueArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct SizeArgs {
    /// The build file, with a `[sizing]` table; `-` reads standard input.
    pub file: PathBuf,
    /// Build file of the lower limb, if it differs: FILE is then the upper one, and both are solved together.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// Two limbs balanced by a string that pulls square off the bow at full draw, whatever `positive_tiller` says.
    #[arg(long, requires = "lower")]
    pub square: bool,
    /// Write the sized build file, comments kept; it must not exist yet.
    #[arg(long, value_name = "NEW")]
    pub write: Option<PathBuf>,
    /// The same for the lower limb's.
    #[arg(long, value_name = "NEW", requires_all = ["lower", "write"])]
    pub write_lower: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct SeriesArgs {
    /// The build file, with a `[series]` and a `[sizing]` table; `-` reads standard input.
    pub file: PathBuf,
    /// A log of finished bows: what they make of the handbook's stiffness goes into every thickness, and into the files that are written.
    pub log: Option<PathBuf>,
    /// Write a build file for each weight into this folder; files that are not ours are never overwritten, and build files that
    /// bows may be made by are never changed.
    #[arg(long, value_name = "DIR")]
    pub write: Option<PathBuf>,
    /// Make everything for all bows into this folder: `shared` has form, outline, riser and sleds, and each weight its build file, book, passes
    /// and tiller. Build files that are there already stay as they are, or nothing is made.
    #[arg(long, value_name = "DIR", conflicts_with = "write")]
    pub make: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct RescaleArgs {
    /// The build file; `-` reads standard input.
    pub file: PathBuf,
    /// The new length along the back, in the file's units or with its own, such as `64` or `"1620 mm"`.
    #[arg(long, value_name = "LENGTH")]
    pub nock_to_nock: String,
    /// Then solve the stack for its draw weight.
    #[arg(long)]
    pub size: bool,
    /// Write the new build file, comments kept; it must not exist yet.
    #[arg(long, value_name = "NEW")]
    pub write: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct LogArgs {
    #[command(subcommand)]
    pub add: Option<LogCommand>,
    /// The build file.
    #[arg(required = true)]
    pub file: Option<PathBuf>,
    /// The log of its readings.
    #[arg(required = true)]
    pub log: Option<PathBuf>,
    /// Write the values that the answers ask to have written into a new build file; comments stay. An existing file is never overwritten.
    #[arg(long, value_name = "NEW")]
    pub write: Option<PathBuf>,
    /// Every reading in full, however many there are.
    #[arg(long)]
    pub all: bool,
    /// The card of one bow: its readings and what is left to do with it, in a log of several.
    #[arg(long, value_name = "NUMBER", conflicts_with = "write")]
    pub serial: Option<String>,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// The same numbers as JSON.
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Subcommand)]
pub enum LogCommand {
    /// Append a reading to the log, once it has been checked; a log that is not there yet is begun
    Add(LogAddArgs),
}

#[derive(Debug, Args)]
#[command(after_help = log_kinds())]
pub struct LogAddArgs {
    /// The build file.
    pub file: PathBuf,
    /// The log; nothing in it is ever changed.
    pub log: PathBuf,
    /// What was read, such as `strip` or `"test strip"`.
    pub of: String,
    /// The reading's keys, such as `lamination=core after=6 gauge=1.452 "readings=[[2, 0.206], [30, 0.152]]"`.
    #[arg(value_name = "KEY=VALUE")]
    pub keys: Vec<String>,
    /// Build file of the lower limb, if it differs: FILE is then the upper one.
    #[arg(long, value_name = "FILE")]
    pub lower: Option<PathBuf>,
    /// The day, as 2026-11-20 [default: today].
    #[arg(long, value_name = "DAY")]
    pub date: Option<String>,
}

/// The kinds of reading and their keys, for the help.
fn log_kinds() -> String {
    let rows =
        crate::buildfile::log::KINDS.iter().map(|kind| format!("  {}\n      {}\n      {}\n", kind.word, kind.what, kind.keys));
    let more = [crate::buildfile::log::COUNTED_FROM, crate::buildfile::log::ONE_BOW].join("\n\n");
    format!("Kinds of reading, and their keys:\n{}\n{more}\n", rows.collect::<String>())
}

#[derive(Debug, Args)]
pub struct WoodsArgs {
    /// Only materials whose names hold this text.
    pub name: Option<String>,
    /// Moisture content in percent.
    #[arg(long, default_value_t = 12.0, value_name = "PERCENT", value_parser = percent)]
    pub moisture: f64,
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct SchemaArgs {
    /// Which answer.
    #[arg(value_enum)]
    pub of: SchemaOf,
}

/// What programs read, in the order of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaOf {
    /// `report.json`, and what `make --json` prints
    Report,
    /// What `make --lower --json` prints: two different limbs
    ReportLower,
    /// Faults and warnings
    Check,
    /// The pass schedule
    Passes,
    /// The ways to make each sled
    Sleds,
    /// What the stack draws
    Bow,
    /// What `bow --lower` prints: two different limbs
    BowLower,
    /// What the bow shoots
    Shot,
    /// What `shot --lower` prints: two different limbs
    ShotLower,
    /// The glue-up
    Glue,
    /// What `glue --lower` prints: two different limbs
    GlueLower,
    /// The stack sized
    Size,
    /// What `size --lower` prints: two different limbs
    SizeLower,
    /// Bows of several weights
    Series,
    /// What the readings say
    Log,
    /// The bow at another length
    Rescale,
    /// The materials
    Woods,
}

impl SchemaOf {
    /// JSON Schema 2020-12.
    pub fn schema(self) -> String {
        match self {
            SchemaOf::Report => schema::<Report>(),
            SchemaOf::ReportLower => schema::<PairReport>(),
            SchemaOf::Check => schema::<CheckAnswer>(),
            SchemaOf::Passes => schema::<Vec<LaminationPasses>>(),
            SchemaOf::Sleds => schema::<SledsAnswer>(),
            SchemaOf::Bow => schema::<BowRow>(),
            SchemaOf::BowLower => schema::<PairAnswer>(),
            SchemaOf::Shot => schema::<ShotRow>(),
            SchemaOf::ShotLower => schema::<PairShotAnswer>(),
            SchemaOf::Glue => schema::<GlueAnswer>(),
            SchemaOf::GlueLower => schema::<PairGlueAnswer>(),
            SchemaOf::Size => schema::<SizeAnswer>(),
            SchemaOf::SizeLower => schema::<PairSizeAnswer>(),
            SchemaOf::Series => schema::<SeriesReport>(),
            SchemaOf::Log => schema::<LogAnswer>(),
            SchemaOf::Rescale => schema::<RescaleAnswer>(),
            SchemaOf::Woods => schema::<WoodsAnswer>(),
        }
    }
}

#[derive(Debug, Args)]
pub struct CompletionsArgs {
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

fn percent(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("`{text}` is not a number"))?;
    if (0.0..=40.0).contains(&value) {
        Ok(value)
    } else {
        Err(format!("{value} percent is not a moisture content of wood in use (0 to 40)"))
    }
}
