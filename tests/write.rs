//! The writers, judged by reading their bytes back: by our own readers, and by general-purpose libraries outside.

mod peers;

#[test]
fn peers_are_the_pinned_ones() {
    let Some(answer) = peers::run("versions.py", &[], "") else { return };
    let pinned = include_str!("peers/requirements.txt");
    for line in answer.lines() {
        let (name, version) = line.split_once(' ').expect("a name and a version");
        assert!(pinned.lines().any(|want| want == format!("{name}=={version}")), "{line} is not pinned");
    }
    assert_eq!(answer.lines().count(), 6);
}
