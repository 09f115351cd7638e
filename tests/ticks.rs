//! Ticks of a schedule as readings of the log: which passes are left, what takes a tick back, and what holds against one.

use taperwright::job::{Inputs, Job, Named};
use taperwright::logbook::{self, Answered};
use taperwright::shop::logged::{Bench, Finding};

fn job(change: impl Fn(&str) -> String) -> Job {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/meadow.toml")).unwrap();
    Job::read("meadow.toml", &change(&text), Inputs::default()).unwrap_or_else(|unread| panic!("{:?}", unread.faults))
}

fn meadow() -> Job {
    job(str::to_owned)
}

/// The example's own log, and more.
fn log(job: &Job, more: &str) -> Answered {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/logs/meadow.toml")).unwrap();
    read(job, &format!("{text}\n{more}"))
}

fn read(job: &Job, text: &str) -> Answered {
    logbook::read(job, None, "log", text, &Named::default()).unwrap_or_else(|unread| panic!("{unread:?}"))
}

fn tick(pass: u32) -> String {
    format!("[[reading]]\ndate = 2026-10-02\nof = \"done\"\nlamination = \"core\"\npass = {pass}\n")
}

fn tick_of(strip: &str, pass: u32) -> String {
    format!("{}strip = \"{strip}\"\n", tick(pass))
}

fn core<'a>(job: &Job, answered: &'a Answered) -> &'a Bench {
    let of = |bench: &&Bench| job.build().laminations[bench.lamination].name == "core";
    answered.answers.shop.by_serial[""].benches.iter().find(of).unwrap()
}

fn left(job: &Job, answered: &Answered) -> Vec<u32> {
    core(job, answered).left().map(|(_, pass)| pass.number).collect()
}

#[test]
fn ticks_leave_the_passes_after_them_and_move_no_gap() {
    let job = meadow();
    let before = log(&job, "");
    let gaps = |answered: &Answered| core(&job, answered).left().map(|(_, pass)| (pass.number, pass.gap_mm)).collect::<Vec<_>>();
    let all = gaps(&before);
    assert_eq!(all[0].0, 13);
    for ticked in 0..=all.len() {
        let after = log(&job, &tick(12 + ticked as u32));
        assert_eq!(gaps(&after), all[ticked..], "{ticked} ticked");
        let answer = after.answers.answers.last().unwrap();
        assert!(answer.questions.is_empty() && answer.observations.is_empty() && answer.take_over.is_empty());
        let Finding::Done(done) = &answer.finding else { panic!("{:?}", answer.finding) };
        assert_eq!((done.made, done.left, done.waits), (12 + ticked as u32, all.len() - ticked, None));
    }
    // One beyond the last is asked about, and nothing has moved.
    let beyond = log(&job, &tick(13 + all.len() as u32));
    let answer = beyond.answers.answers.last().unwrap();
    assert!(answer.questions.len() == 1 && answer.finding == Finding::Nothing, "{:?}", answer.questions);
    assert_eq!(gaps(&beyond), all);
}

#[test]
fn a_lower_tick_takes_back_and_a_strip_holds_against_both() {
    let job = meadow();
    assert_eq!(left(&job, &log(&job, &[tick(13), tick(14), tick(13)].concat()))[0], 14);
    // Pass 12 has been read of a strip: it is made, whatever is ticked.
    assert_eq!(left(&job, &log(&job, &[tick(14), tick(3)].concat()))[0], 13);
    // A strip that is read after pass 12 says so also where more was ticked, and is not asked about.
    let strip = "[[reading]]\ndate = 2026-10-02\nof = \"strip\"\nlamination = \"core\"\nstrip = \"B\"\nafter = 12\napart = 1.5\n\
                 readings = [[4, 0.2195, 0.2193], [18, 0.191, 0.1907], [33, 0.162, 0.1618]]\n";
    let read = log(&job, &[&tick(14), strip].concat());
    assert!(read.answers.answers.last().unwrap().questions.is_empty());
    assert_eq!(left(&job, &read)[0], 13);
}

/// Where the strips of a pair go through one by one, a pass is made once both are through.
#[test]
fn a_pass_is_made_with_both_strips_of_the_pair() {
    let job = job(|text| {
        let alone = text.replace("together        = 2", "together        = 1");
        assert_ne!(alone, text);
        alone
    });
    let head = "units = \"in\"\n";
    let after = |more: &[String]| {
        let read = read(&job, &format!("{head}{}", more.concat()));
        let Finding::Done(done) = read.answers.answers.last().unwrap().finding.clone() else { panic!("no tick") };
        (done.made, done.waits)
    };
    assert_eq!(after(&[tick_of("A", 1)]), (0, Some(1)));
    assert_eq!(after(&[tick_of("A", 1), tick_of("B", 1)]), (1, None));
    assert_eq!(after(&[tick_of("A", 1), tick_of("B", 1), tick_of("B", 2)]), (1, Some(2)));
    assert_eq!(after(&[tick(4), tick_of("A", 5)]), (4, Some(5)));
    assert_eq!(after(&[tick(4), tick_of("A", 3)]), (3, Some(4)));
    assert_eq!(after(&[tick_of("A", 9), tick(2)]), (2, None));
}

/// Scrap that was sent through with new paper had the passes restated from the paper before it: a pass more, with paper that was off already.
#[test]
fn scrap_of_the_new_paper_does_not_bring_the_old_one_back() {
    let job = meadow();
    let before = log(&job, "");
    let (_, next) = core(&job, &before).left().next().unwrap();
    assert!(next.new_paper && next.grit == Some(80), "{next:?}");
    let scrap = "[[reading]]\ndate = 2026-10-02\nof = \"test strip\"\nlamination = \"core\"\ngauge = 0.2\napart = 1.5\n\
                 readings = [[2, 0.1954, 0.1953], [8, 0.1955, 0.1953], [14, 0.1954, 0.1953]]\n";
    let after = log(&job, scrap);
    assert!(after.answers.answers.last().unwrap().questions.is_empty());
    let papers: Vec<(Option<u32>, bool)> = core(&job, &after).left().map(|(_, pass)| (pass.grit, pass.new_paper)).collect();
    assert!(!papers.is_empty() && papers.iter().all(|paper| *paper == (Some(80), false)), "{papers:?}");
}
