//! `taperwright size --lower`: two different limbs solved together, for the weight of their bow and its balance.

use super::super::Ended;
use super::super::args::SizeArgs;
use super::super::beside::{
    BowSide, Warn, as_written, edit_rows, edits_table, show_new, side_rows, speed_remarks, table_pair, written,
};
use super::super::input::refused;
use super::super::terminal::Terminal;
use super::super::two_limbs::{ShownLimb, TwoLimbs};
use crate::buildfile::edit::Rewritten;
use crate::diag::SourceText;
use crate::folder::{self, FolderFault};
use crate::job::{BalanceBy, Balanced, Job, PairStanding, halves_meet};
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::report::pair::{PairBalance, PairSizeAnswer, PairSized};
use crate::units::published::round;
use crate::write::table::plain;
use std::path::Path;

pub fn sized(upper: &Job, folder: &Path, lower: &Path, args: &SizeArgs, terminal: Terminal) -> Result<Ended, Ended> {
    if args.write.is_some() && args.write_lower.is_none() {
        terminal.fault(
            "error: `--write` is for the upper limb's file alone\nhelp: name the lower limb's with `--write-lower NEW`, too",
        );
        return Err(Ended::Files);
    }
    let two = TwoLimbs::read(upper, lower, terminal)?;
    let by = if args.square { BalanceBy::Square } else { BalanceBy::Tiller };
    let found =
        Job::balanced(&two.upper, &two.lower, by).map_err(|found| two.limb(found.limb).refused(found.faults, terminal))?;
    for (limb, warnings) in two.limbs().iter().zip(&found.warnings) {
        limb.show(warnings.clone(), terminal);
    }
    // Each new text, read again, and then both beside each other: rounding moves weight and balance.
    let [new_upper, new_lower] = [0, 1].map(|k| as_written(two.limbs()[k].job, &found.limbs[k], terminal));
    let (new_upper, new_lower) = (new_upper?, new_lower?);
    let jobs = Job::of_two_limbs(&new_upper.job, &new_lower.job);
    let jobs = jobs.map_err(|unread| refused(&unread.faults, &new_upper.job, terminal))?;
    two.limb(LimbSide::Lower).show(halves_meet(jobs[0].build(), jobs[1].build()).into_iter().collect(), terminal);
    let standing = |upper: &Job, lower: &Job| -> Result<PairStanding, Ended> {
        let curve = upper.pair_curve().map_err(|found| refused(&found.faults, upper, terminal))?;
        Ok(PairStanding::of(curve.expect("it is one of two"), [upper.build(), lower.build()]))
    };
    let standings = [standing(&two.upper, &two.lower)?, standing(&jobs[0], &jobs[1])?];
    let side = |limb: &ShownLimb<'_>, after: &Job| -> Result<[BowSide; 2], Ended> {
        let sides =
            [BowSide::of("as it is", limb.job, Warn::Silent, terminal)?, BowSide::of("sized", after, Warn::Shown, terminal)?];
        show_new(limb.job, after, terminal);
        Ok(sides)
    };
    let [of_upper, of_lower] = two.limbs();
    let limbs = [
        SizedLimb { sides: side(&of_upper, &jobs[0])?, limb: of_upper, rewritten: new_upper.rewritten },
        SizedLimb { sides: side(&of_lower, &jobs[1])?, limb: of_lower, rewritten: new_lower.rewritten },
    ];
    let ended = if args.json {
        terminal.answer(&answer(&found, &standings, &limbs))
    } else {
        terminal.results(&text(&found, &standings, &limbs))
    };
    if let (Some(new), Some(new_lower)) = (&args.write, &args.write_lower) {
        let texts = limbs.each_ref().map(|limb| limb.rewritten.text.as_bytes());
        create_both([(new, texts[0]), (new_lower, texts[1])]).map_err(|fault| {
            terminal.fault(&format!("error: {fault}"));
            Ended::Files
        })?;
        let next = format!("taperwright make {} --lower {}", new.display(), new_lower.display());
        written(new, &next, &two.upper, folder, terminal);
        written(new_lower, &next, &two.lower, &two.lower_folder, terminal);
    }
    Ok(ended)
}

/// Two new files, both or none.
fn create_both([first, second]: [(&Path, &[u8]); 2]) -> Result<(), FolderFault> {
    // Seen before anything is written; who comes between is met below.
    if second.0.symlink_metadata().is_ok() {
        return Err(FolderFault::NotOurs(vec![second.0.to_owned()]));
    }
    folder::create(first.0, first.1)?;
    folder::create(second.0, second.1).inspect_err(|_| {
        let _ = std::fs::remove_file(first.0);
    })
}

/// A limb as it is and as sized.
struct SizedLimb<'a> {
    limb: ShownLimb<'a>,
    sides: [BowSide; 2],
    rewritten: Rewritten,
}

/// Labels of both standings.
const BOWS: [&str; 2] = ["as it is", "sized"];

fn answer(found: &Balanced, standings: &[PairStanding; 2], limbs: &[SizedLimb<'_>; 2]) -> PairSizeAnswer {
    let balance = BOWS.into_iter().zip(standings).map(|(bow, standing)| PairBalance {
        bow: bow.into(),
        draw_weight_n: round(standing.weight_n),
        tiller_mm: round(standing.tiller_mm),
        pull_angle_rad: round(standing.pull_angle_rad),
    });
    let [upper, lower] = limbs.each_ref().map(|of| PairSized {
        build_file: SourceText::name(of.limb.job.source()).into(),
        title: of.limb.job.build().title.clone(),
        bows: side_rows(&of.sides),
        edits: edit_rows(&of.rewritten.edits),
    });
    PairSizeAnswer {
        wanted_n: found.wanted_n,
        wanted_tiller_mm: found.wanted_tiller_mm,
        balance: balance.collect(),
        upper,
        lower,
    }
}

fn text(found: &Balanced, standings: &[PairStanding; 2], limbs: &[SizedLimb<'_>; 2]) -> String {
    let build = limbs[0].limb.job.build();
    let mut text = format!("{}: two different limbs, sized together\n", build.title);
    for of in limbs {
        text += &format!(
            "\nThe {}\n\n{}\n{}",
            of.limb.heading(),
            table_pair(&of.sides),
            edits_table(of.limb.job, &of.rewritten.edits)
        );
    }
    let row = |what: &str, cell: &dyn Fn(&PairStanding) -> String| {
        std::iter::once(what.to_owned()).chain(standings.iter().map(cell)).collect::<Vec<String>>()
    };
    let rows = [
        row("draw weight", &|standing| build.weight_text(standing.weight_n)),
        row("upper limb farther from the string, braced", &|standing| standing.farther_words(build.units)),
        row("pull at full draw", &PairStanding::pull_words),
    ];
    text += &format!("\n{}\n", plain(&["both limbs", BOWS[0], BOWS[1]], &rows));
    text += &remark(build, found, &standings[1]);
    text + &format!("{}\n", speed_remarks(&limbs[0].sides))
}

/// What was wanted, and what the rounded stacks give.
fn remark(build: &Build, found: &Balanced, standing: &PairStanding) -> String {
    let finishing = build.target.map_or(0.0, |target| target.finishing_n);
    let off = standing.weight_n - found.wanted_n;
    let balance = match found.wanted_tiller_mm {
        Some(mm) => format!(
            "the upper limb {} farther from the string at brace, each limb at the end of its fade",
            build.units.tiller(mm)
        ),
        None => "a string that pulls square off the bow at full draw".into(),
    };
    format!(
        "Wanted: {}, {} of it kept for finishing, and {balance}. Ground to the numbers above both limbs draw {} ({}{} from rounding).\n\
         Wood is variable: build to the numbers, weigh, and read the tiller before anything is trimmed away.\n",
        build.weight_text(found.wanted_n),
        build.weight_text(finishing),
        build.weight_text(standing.weight_n),
        if off < 0.0 { "" } else { "+" },
        build.units.force_text(off)
    )
}
