//! What do the files of two different limbs have to say alike, and does a file that follows the hint say it?

mod support;

use support::examples::text as example;
use taperwright::diag::{Diagnostic, Message};
use taperwright::job::{BalanceBy, Change, Inputs, Job, is_of_both, one_draw, one_riser, one_string};
use taperwright::serve::levers::{Takes, levers};

fn read(text: &str) -> Job {
    Job::read("bow.toml", text, Inputs::default()).unwrap_or_else(|unread| panic!("{:#?}", unread.faults))
}

fn replaced(text: &str, was: &str, is: &str) -> String {
    assert_eq!(text.matches(was).count(), 1, "`{was}` stands there once");
    text.replacen(was, is, 1)
}

fn spoken(job: &Job, message: &Message) -> String {
    message.spoken(job.build().units)
}

/// What keeps two bows' files from being those of one bow's limbs.
fn apart(upper: &Job, lower: &Job) -> Vec<Diagnostic> {
    let (a, b) = (upper.build(), lower.build());
    let mut faults = one_draw(a, b);
    faults.extend(one_riser(a, b));
    faults.extend(one_string(a, b));
    faults
}

/// A value is said to be one for both limbs where the rules refuse two files that differ in it, and nowhere else.
#[test]
fn what_is_of_both_limbs_is_what_the_rules_hold_against_each_other() {
    let meadow = replaced(&example("meadow"), "brace_height = 6.25", "brace_height = 6.25\npositive_tiller = 0.1875");
    let meadow = replaced(&meadow, "[sizing]", "[string]\nstrands = 16\nserving = 80\n\n[sizing]");
    for (text, least_of_both) in [(meadow, 9), (example("more/plover"), 15), (example("more/lapwing"), 10)] {
        let upper = read(&text);
        let (mut of_both, mut of_one) = (0, 0);
        for lever in levers(&upper) {
            let values: Vec<String> = match &lever.takes {
                Takes::Number { value, step, suffix, .. } => {
                    [10.0, -10.0].map(|steps| format!("{}{suffix}", value + steps * step)).into()
                }
                Takes::Choice { choices } => {
                    choices.iter().filter(|choice| !lever.text.contains(*choice)).take(3).cloned().collect()
                }
            };
            let Some(lower) = values.into_iter().find_map(|value| upper.with(&[Change::new(&*lever.key, value)]).ok()) else {
                continue;
            };
            let refused = !apart(&upper, &lower).is_empty();
            let wish = lever.key.starts_with("target.")
                && Job::balanced(&upper, &lower, BalanceBy::Tiller).is_err_and(|found| {
                    found.faults.iter().any(|fault| spoken(&upper, &fault.message).contains("both make one bow"))
                });
            assert_eq!(is_of_both(&lever.key), refused || wish, "{}", lever.key);
            if refused || wish { of_both += 1 } else { of_one += 1 }
        }
        assert!(least_of_both <= of_both && 20 <= of_one, "{of_both} of both, {of_one} of one");
    }
}

/// One line of a build file instead of another.
struct Line {
    was: &'static str,
    is: &'static str,
}

const LAYERS: &str = r#"layers  = [["maple, sugar", 3.2], ["walnut, black", 1], ["maple, sugar", 3.3]] "#;
const WIDTH: &str = "width   = 48                          # of the boards, before they are trimmed to the outline\n";
const SLICES: &str = r#"across  = [["maple, sugar", 22], ["walnut, black", 4], ["maple, sugar", 22]] "#;

/// Blocks that are not one: the fault stands where they differ, and a file that does what its hint says is of the same bow.
#[test]
fn what_the_hint_says_makes_one_block_of_two() {
    let plover = example("more/plover");
    let of_slices = replaced(&replaced(&plover, LAYERS, SLICES), WIDTH, "");
    let no_width = replaced(&plover, WIDTH, "");

    let made_one = |upper: &str, lower: &str, key: &str, hint: &str, follow: &[Line]| {
        let (upper, other) = (read(upper), read(lower));
        let faults = apart(&upper, &other);
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert_eq!(faults[0].place.as_str(), key);
        let said = spoken(&other, &faults[0].hints[0]);
        assert!(said.contains(hint), "{said}");
        let followed = follow.iter().fold(lower.to_owned(), |text, line| replaced(&text, line.was, line.is));
        assert_eq!(apart(&upper, &read(&followed)), [], "{said}");
    };

    // Boards of another width, written or as the outline has it.
    let narrow = replaced(&plover, "width   = 48 ", "width   = 52 ");
    made_one(&plover, &narrow, "riser.width", "write `width` = 48 mm", &[Line { was: "width   = 52 ", is: "width   = 48 " }]);
    let assumed = read(&no_width).build().riser.as_ref().unwrap().width_mm(0.0);
    assert!(0.1 < (assumed - 48.0).abs());
    made_one(
        &plover,
        &no_width,
        "riser.width",
        "write `width` = 48 mm",
        &[Line { was: "[riser.footing]", is: "width = 48\n[riser.footing]" }],
    );
    // Other boards.
    let other = replaced(&plover, "[\"walnut, black\", 1]", "[\"ash, white\", 1]");
    made_one(
        &plover,
        &other,
        "riser.layers",
        "upper limb's `layers`",
        &[Line { was: "[\"ash, white\", 1]", is: "[\"walnut, black\", 1]" }],
    );
    // Layers here, slices there.
    let in_place: &[Line] =
        &[Line { was: SLICES, is: LAYERS }, Line { was: "[riser.footing]", is: "width = 48\n[riser.footing]" }];
    made_one(
        &plover,
        &of_slices,
        "riser.across",
        "in place of `across` write the upper limb's `layers` into this file, and `width` = 48 mm",
        in_place,
    );
    let in_place: &[Line] = &[Line { was: LAYERS, is: SLICES }, Line { was: WIDTH, is: "" }];
    made_one(&of_slices, &plover, "riser.layers", "in place of `layers` and `width` write the upper limb's `across`", in_place);
    // Overlays.
    let deeper = replaced(&plover, "depth  = 33", "depth  = 36");
    made_one(&plover, &deeper, "riser.overlay", "let `wood` and `depth`", &[Line { was: "depth  = 36", is: "depth  = 33" }]);
    let longer = read(&replaced(&plover, "length = 360", "length = 340"));
    assert_eq!(apart(&read(&plover), &longer), [], "its fade may differ");
}
