//! Where supports stand: as few as their spans allow, and wherever that leaves them free on whole units of the strip from its first end,
//! so that they are laid out with a rule: whole inches or half ones, whole 10 or 5 mm; finer only where spans are shorter than that.

/// More supports than this between two that are given nobody sets.
const MAX_BAYS: u32 = 200;

/// Supports after `from` up to `to`, which stay where they are: the fewest that are `good`, as even as the rule allows. `steps_mm` are the
/// rule's ([`crate::units::System::rule_steps_mm`]), coarse to fine. `None` where not even 200 are good.
pub(super) fn spaced(from: f64, to: f64, steps_mm: &[f64; 4], good: impl Fn(&[f64]) -> bool) -> Option<Vec<f64>> {
    let at = |bays: u32, step_mm: f64| -> Vec<f64> {
        let even = |k: u32| from + (to - from) * f64::from(k) / f64::from(bays);
        let on_rule = |u: f64| if 0.0 < step_mm { (u / step_mm).round() * step_mm } else { u };
        (1..=bays).map(|k| if k == bays { to } else { on_rule(even(k)) }).collect()
    };
    // What is good in whatever places is the least; spans on a rule are up to two of its steps shorter.
    let min = (1..=MAX_BAYS).find(|bays| good(&at(*bays, 0.0)))?;
    let (easy, fine) = steps_mm.split_at(2);
    let on = |steps: &[f64]| {
        let tries = (min..=2 * min).flat_map(|bays| steps.iter().map(move |step| (bays, *step)).collect::<Vec<_>>());
        tries.map(|(bays, step)| at(bays, step)).find(|places| good(places))
    };
    on(easy).or_else(|| on(fine)).or_else(|| Some(at(min, 0.0)))
}

/// The place on a rule that lies first in a stretch, for a support that may stand anywhere in it: on whole units where one lies there.
pub(super) fn first_in(from: f64, to: f64, steps_mm: &[f64; 4]) -> Option<f64> {
    // Rounding of sums, mm.
    const CLOSE_MM: f64 = 1e-6;
    steps_mm[..2].iter().map(|step| ((from - CLOSE_MM) / step).ceil() * step).find(|u| *u <= to + CLOSE_MM)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::System;

    #[test]
    fn few_and_on_whole_units() {
        let steps = System::Millimetre.rule_steps_mm();
        let within = |span: f64| move |next: &[f64]| [3.0].iter().chain(next).zip(next).all(|(a, b)| a < b && b - a <= span);
        // 994 in spans of 100 take ten; so do whole centimetres.
        let places = spaced(3.0, 997.0, &steps, within(100.0)).unwrap();
        assert_eq!((places.len(), places[0], places[9]), (10, 100.0, 997.0));
        // Spans under half a step of the rule leave only a finer one.
        assert_eq!(spaced(3.0, 10.0, &steps, within(2.5)).unwrap(), [4.0, 6.0, 8.0, 10.0]);
        assert_eq!(spaced(3.0, 900.0, &steps, within(1.0)), None);
        assert_eq!(first_in(6.0, 14.0, &steps), Some(10.0));
        assert_eq!(first_in(11.0, 16.0, &steps), Some(15.0));
        assert_eq!(first_in(11.0, 14.0, &steps), None);
    }
}
