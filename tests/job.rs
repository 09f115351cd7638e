//! The door: what a job gives, what it keeps when a value changes, and that what it kept is what it would work out anew.

mod support;

use std::fs;
use support::examples::job as example;
use taperwright::diag::Place;
use taperwright::job::{Change, Inputs, Job, Named, named_files};
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::{draw, glueup};
use taperwright::report;
use taperwright::units::System;

/// Which stages two jobs share, each by the value's address.
fn shared(a: &Job, b: &Job) -> Vec<&'static str> {
    let same = |name, a: *const (), b: *const ()| (std::ptr::eq(a, b)).then_some(name);
    let of = |job: &Job| {
        let ground = |index| job.ground(index).expect("it grinds").map_or(std::ptr::null(), std::ptr::from_ref).cast();
        [
            ("glue-up", std::ptr::from_ref(job.glue_up().expect("it is glued").expect("there are stages")).cast()),
            ("draw", std::ptr::from_ref(job.force_curve().expect("it draws")).cast()),
            ("weights", std::ptr::from_ref(job.sensitivity().expect("it draws")).cast()),
            ("tiller", std::ptr::from_ref(job.tiller_targets().expect("it has a tiller")).cast()),
            ("shot", std::ptr::from_ref(job.shot().expect("it shoots")).cast()),
            ("riser", std::ptr::from_ref(job.riser_block().expect("there is a riser")).cast()),
            ("back", ground(0)),
            ("core", ground(1)),
        ]
    };
    of(a).into_iter().zip(of(b)).filter_map(|((name, a), (_, b))| same(name, a, b)).collect()
}

/// A changed value leaves every stage that reads none of it, the very same value, and touches the others.
#[test]
fn a_change_keeps_what_does_not_read_it() {
    let job = example("meadow");
    let all = ["glue-up", "draw", "weights", "tiller", "shot", "riser", "back", "core"];
    let cases: &[(&str, &str, &[&str])] = &[
        ("title", "another", &["glue-up", "draw", "weights", "tiller", "shot", "riser"]),
        ("sander.repeats", "0.0015", &["glue-up", "draw", "weights", "tiller", "shot", "riser"]),
        ("target.positive_tiller", "0.2", &["glue-up", "draw", "weights", "shot", "riser", "back", "core"]),
        ("shot.tip", "12 gr", &["glue-up", "draw", "weights", "tiller", "riser", "back", "core"]),
        ("target.draw_length", "27.5", &["glue-up", "riser", "back", "core"]),
        ("lamination[core].thickness", "0.140 in", &["back"]),
        ("lamination[core].stock.overrun", "1.25", &["glue-up", "draw", "weights", "tiller", "shot", "riser", "back"]),
    ];
    for (key, value, wanted) in cases {
        let tried = job.with(&[Change::new(*key, *value)]).unwrap_or_else(|unread| panic!("{key}: {unread}"));
        let kept = shared(&job, &tried);
        assert!(kept.iter().all(|name| all.contains(name)));
        assert_eq!(kept, *wanted, "after {key} = {value}");
    }
    // And the same text shares everything.
    assert_eq!(shared(&job, &job.with(&[]).expect("nothing changed")), all);
}

/// What was kept is what the changed text gives when it is read anew: for every number of the examples' files, moved a little.
#[test]
fn a_job_tried_is_the_job_read_anew() {
    for name in ["meadow", "heron"] {
        let job = example(name);
        let (mut tried_keys, mut refused) = (0, 0);
        for (place, text) in numbers(&job) {
            let moved = format!("{}", text.parse::<f64>().expect("a number") * 1.001);
            let changes = [Change::new(place.as_str(), moved.as_str())];
            match job.with(&changes) {
                Ok(tried) => {
                    tried_keys += 1;
                    let anew = Job::read(&format!("{name}.toml"), tried.text(), Inputs::default()).expect("it read before");
                    let told = |job: &Job| match (job.warnings(), job.bow_report(), job.budgets()) {
                        (Ok(warnings), Ok(row), budgets) => {
                            format!("{warnings:?} {} {budgets:?}", serde_json::to_string(&row).expect("plain values are JSON"))
                        }
                        (warnings, bow, _) => format!("{warnings:?} {:?}", bow.err()),
                    };
                    assert_eq!(told(&tried), told(&anew), "{name}: {place} = {moved}");
                }
                // Some values are whole, or at their limit.
                Err(_) => refused += 1,
            }
        }
        println!("{name}: {tried_keys} keys tried, {refused} refused");
        assert!(refused * 3 < tried_keys, "{name}: {tried_keys} keys tried, {refused} refused");
    }
}

/// Every bare number in a build file with its key path.
fn numbers(job: &Job) -> Vec<(Place, String)> {
    use taperwright::buildfile::raw::{RawTable, Value};
    fn walk(table: &RawTable, at: &Place, text: &str, found: &mut Vec<(Place, String)>) {
        for entry in &table.entries {
            value(&entry.node.value, &at.key(&entry.key), &text[entry.node.span.clone()], text, found);
        }
    }
    fn value(of: &Value, at: &Place, own: &str, text: &str, found: &mut Vec<(Place, String)>) {
        match of {
            Value::Number(_) => found.push((at.clone(), own.to_owned())),
            Value::Table(table) => walk(table, at, text, found),
            Value::List(nodes) => {
                for (index, node) in nodes.iter().enumerate() {
                    value(&node.value, &at.index(index), &text[node.span.clone()], text, found);
                }
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(job.source().root(), &Place::whole_file(), job.text(), &mut found);
    found
}

/// The edit keeps the text around it: comments, order, line ends.
#[test]
fn an_edit_keeps_the_rest_of_the_file() {
    let job = example("meadow");
    let tried = job.with(&[Change::new("lamination[core].thickness", "0.1401 in")]).expect("it is sound");
    let differ: Vec<(&str, &str)> = job.text().lines().zip(tried.text().lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(differ.len(), 1, "{differ:?}");
    assert!(differ[0].1.contains("\"0.1401 in\""), "{differ:?}");
    let comment = differ[0].0.split_once('#').map(|(_, comment)| comment);
    assert_eq!(comment, differ[0].1.split_once('#').map(|(_, comment)| comment));
}

/// What cannot be read is refused with its place, and a job that was there before stands.
#[test]
fn a_bad_value_is_refused_where_it_stands() {
    let job = example("meadow");
    let unread = job.with(&[Change::new("lamination[core].thickness", "0.14 furlongs")]).expect_err("no such unit");
    assert!(unread.faults.iter().any(|fault| fault.place.as_str().contains("thickness")), "{unread}");
    assert!(unread.to_string().contains("furlongs"));
    let unread = job.with(&[Change::new("lamination[nobody].thickness", "0.14 in")]).expect_err("no such lamination");
    assert!(unread.to_string().contains("nobody"), "{unread}");
}

/// Finished bows come in as text; one that was not handed in is asked for by name.
#[test]
fn what_a_file_names_comes_in_as_text() {
    let meadow = fs::read_to_string("examples/meadow.toml").expect("it reads");
    let text = format!("{meadow}\n[[calibration]]\nbuild = \"older.toml\"\nweight = 39\n");
    assert_eq!(named_files(&text), ["older.toml"]);
    let unread = Job::read("meadow.toml", &text, Inputs::default()).expect_err("older.toml is not there");
    assert!(unread.to_string().contains("older.toml"), "{unread}");
    let mut named = Named::default();
    named.add("older.toml", Ok(meadow));
    let job = Job::read("meadow.toml", &text, Inputs { named, ..Inputs::default() }).expect("now it is");
    assert_eq!(job.calibrated().expect("a bow was weighed").bows, 1);
    // The bows are not computed again for a change elsewhere.
    let tried = job.with(&[Change::new("title", "another")]).expect("it is sound");
    assert!(std::ptr::eq(job.finished_bows(), tried.finished_bows()));
}

/// The files are those of `make`, and the report among them is the report.
#[test]
fn files_come_by_name() {
    let job = example("strips");
    let files = job.files().expect("it can be made");
    let names: Vec<&str> = files.names().collect();
    let number = names.iter().position(|name| *name == "report.json").expect("there is a report");
    assert_eq!(files.bytes(number).expect("it is written"), report::json(job.report().expect("it is filled")));
    for name in ["stack.csv", "build-book.pdf", "build-book.html"] {
        assert!(names.contains(&name), "{names:?}");
    }
}

/// Drawing the strain down is followed by the forward model: the bow that comes out works as hard as was asked, at the weight that is wanted;
/// and where it stops, what stopped it is said.
#[test]
fn a_strain_drawn_down_stands_where_it_was_drawn_or_says_what_stopped_it() {
    use taperwright::job::Easing;
    let job = example("meadow");
    for (by, fraction, free) in
        [(Easing::Longer, 0.90, vec!["back"]), (Easing::Wider, 0.85, vec!["back"]), (Easing::Longer, 0.88, vec!["back", "core"])]
    {
        let free: Vec<String> = free.into_iter().map(str::to_owned).collect();
        let eased = job.eased(fraction, by, &free).unwrap_or_else(|refused| panic!("{by:?} {fraction}: {refused}"));
        let unstrung = glueup::unstrung(&eased.build).expect("it is glued").value;
        let options = Options { unstrung, ..Options::default() };
        let curve = draw::curve(&eased.build, &options).expect("it draws").value;
        let share = curve.worst[curve.worst_of_all].share_of_breaking.expect("the woods are known");
        assert!((share / fraction - 1.0).abs() < 2e-3, "{by:?}: {share} and not {fraction}");
    }
    // A longer bow needs a thicker back than its stock holds.
    let refused = job.eased(0.85, Easing::Longer, &["back".to_owned()]).expect_err("the stock is too thin");
    assert!(refused.to_string().contains("stock"), "{refused}");
}

/// Twelve laminations on a bow without a riser's fade: too stiff at its middle to show the usual 3/16 in of tiller. The default refused the bow; it
/// takes what the limbs can show, and says so. What the builder asks for by a figure is refused where it cannot be, and the hint helps.
#[test]
fn a_tiller_that_is_only_habitual_refuses_no_bow() {
    let stiff = |tiller: &str| {
        let mut text = format!(
            "title = \"Twelve\"\nunits = \"in\"\n[target]\n{tiller}draw_weight = \"45 lbf\"\ndraw_length = \"28 in\"\nbrace_height = 6.5\n\
             [outline]\nnock_to_nock = 68\nwidth = [[0, 1.5], [20, 1.4], [34, 0.6]]\n"
        );
        for k in 1..=12 {
            text += &format!(
                "[[lamination]]\nname = \"veneer {k}\"\nwood = \"maple, sugar\"\nthickness = 0.045\ntaper = 0.0003\nground = [[0, 0.045], [34.5, 0.035]]\n"
            );
        }
        let text = text.replace("thickness = 0.045\ntaper = 0.0003\n", "");
        Job::read("twelve.toml", &text, Inputs::default()).expect("it reads")
    };
    let about = |job: &Job| -> Vec<String> {
        let told = job.warnings().unwrap_or_else(|refused| panic!("{refused:?}"));
        told.iter()
            .filter(|told| told.place.as_str() == "target.positive_tiller")
            .map(|told| told.message.spoken(System::Inch))
            .collect()
    };
    let usual = stiff("");
    let said = about(&usual);
    let targets = usual.tiller_targets().expect("the default gives way");
    let usual_mm = 3.0 / 16.0 * taperwright::units::MM_PER_IN;
    assert!(targets.positive_tiller_mm < usual_mm && said.len() == 1 && said[0].contains("usual tiller"), "{said:?}");
    // What is said to be taken is what the targets show, at the first station at brace.
    let [upper, lower] = targets.rows[0].gaps_mm[0];
    println!("takes {} mm; at the first station {upper} and {lower}", targets.positive_tiller_mm);
    // Asked for by a figure it is refused; what the hint says helps, and so does what the default took.
    let refused = stiff("positive_tiller = 0.1875\n").warnings().expect_err("it cannot be shown");
    let fault = refused.faults.iter().find(|fault| fault.place.as_str() == "target.positive_tiller").expect("it names its key");
    assert!(fault.hints.iter().any(|hint| hint.spoken(System::Inch).contains("positive_tiller = 0")), "{fault:?}");
    assert!(about(&stiff("positive_tiller = 0\n")).is_empty());
    let taken = targets.positive_tiller_mm / taperwright::units::MM_PER_IN;
    let same = stiff(&format!("positive_tiller = {taken}\n"));
    assert!(about(&same).is_empty());
    let theirs = same.tiller_targets().expect("it can be shown").rows[0].gaps_mm[0];
    assert!((theirs[0] - upper).abs() < 1e-3 && (theirs[1] - lower).abs() < 1e-3, "{theirs:?}");
    // Limbs that can show it show all of it.
    let meadow = example("meadow");
    assert!(about(&meadow).is_empty());
    let targets = meadow.tiller_targets().expect("it has a tiller");
    let [upper, lower] = targets.rows[0].gaps_mm[0];
    assert!((targets.positive_tiller_mm - usual_mm).abs() < 1e-9 && (upper - lower - usual_mm).abs() < 0.01, "{upper} {lower}");
}
