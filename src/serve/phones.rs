//! Phones that may come in from the shop's network: the code that pairs one, the token it is exchanged for, and who is listed.
//!
//! A code works once, for ten minutes, and a new one takes the place of the last. A phone that has asked for nothing in eight hours, a
//! working day, is shut out, as is one that is told to go at the desk. All of it lives in the running program and goes when it ends.

use super::token::{same, token};
use serde::Serialize;
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;
use tokio::time::Instant;

/// How long a code works, and how long a phone may be silent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Times {
    pub code: Duration,
    pub idle: Duration,
}

impl Default for Times {
    fn default() -> Times {
        Times { code: Duration::from_secs(10 * 60), idle: Duration::from_secs(8 * 3600) }
    }
}

/// More phones than a shop has hands.
const MAX_PHONES: usize = 12;

/// The phones of one running bench.
#[derive(Debug)]
pub struct Phones {
    started: Instant,
    list: Mutex<List>,
}

#[derive(Debug)]
struct List {
    times: Times,
    code: Option<(String, Duration)>,
    phones: Vec<Phone>,
    paired: u32,
}

/// What a phone takes with it: its number, and the token that it is known by.
#[derive(Debug)]
pub struct PairedPhone {
    pub number: u32,
    pub token: String,
}

#[derive(Debug)]
struct Phone {
    number: u32,
    token: String,
    from: IpAddr,
    since: Duration,
    seen: Duration,
}

/// A phone as the desk lists it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Listed {
    pub number: u32,
    /// Its address when it was paired.
    pub from: String,
    pub paired_s: u64,
    /// Since it asked for something last.
    pub silent_s: u64,
}

impl Phones {
    pub fn new(times: Times) -> Phones {
        let list = List { times, code: None, phones: Vec::new(), paired: 0 };
        Phones { started: Instant::now(), list: Mutex::new(list) }
    }

    fn at<T>(&self, act: impl FnOnce(&mut List, Duration) -> T) -> T {
        let mut list = self.list.lock().unwrap_or_else(PoisonError::into_inner);
        act(&mut list, self.started.elapsed())
    }

    /// A new code; the one before works no more.
    pub fn offer(&self) -> Result<String, String> {
        let code = token()?;
        self.at(|list, now| list.offer(code.clone(), now));
        Ok(code)
    }

    pub fn times(&self) -> Times {
        self.at(|list, _| list.times)
    }

    /// A token for whoever brings the code.
    pub fn pair(&self, code: &str, from: IpAddr) -> Result<PairedPhone, String> {
        let token = token()?;
        let number = self.at(|list, now| list.pair(code, token.clone(), from, now))?;
        Ok(PairedPhone { number, token })
    }

    /// The phone that has this token, if it is not shut out.
    pub fn known(&self, token: &[u8]) -> Option<u32> {
        self.at(|list, now| list.known(token, now))
    }

    pub fn listed(&self) -> Vec<Listed> {
        self.at(List::listed)
    }

    pub fn shut_out(&self, number: u32) {
        self.at(|list, _| list.phones.retain(|phone| phone.number != number));
    }

    /// Whether a stream to this phone may go on.
    pub fn is_in(&self, number: u32) -> bool {
        self.at(|list, now| {
            list.forget_silent(now);
            list.phones.iter().any(|phone| phone.number == number)
        })
    }
}

/// The list at a moment, counted from the start of the program.
impl List {
    fn offer(&mut self, code: String, now: Duration) {
        self.code = Some((code, now + self.times.code));
    }

    fn pair(&mut self, code: &str, token: String, from: IpAddr, now: Duration) -> Result<u32, String> {
        self.forget_silent(now);
        let wanted = self.code.as_ref().filter(|(_, until)| now < *until);
        if !wanted.is_some_and(|(wanted, _)| same(code.as_bytes(), wanted.as_bytes())) {
            return Err("this code works no more: show a new one at the desk".into());
        }
        if self.phones.len() == MAX_PHONES {
            return Err(format!("{MAX_PHONES} phones are in already: shut one out at the desk"));
        }
        self.code = None;
        self.paired += 1;
        self.phones.push(Phone { number: self.paired, token, from, since: now, seen: now });
        Ok(self.paired)
    }

    fn known(&mut self, token: &[u8], now: Duration) -> Option<u32> {
        self.forget_silent(now);
        // Every phone is compared, so that the time tells nothing of which.
        let found = self.phones.iter_mut().filter(|phone| same(phone.token.as_bytes(), token)).last()?;
        found.seen = now;
        Some(found.number)
    }

    fn forget_silent(&mut self, now: Duration) {
        let idle = self.times.idle;
        self.phones.retain(|phone| now.saturating_sub(phone.seen) < idle);
    }

    fn listed(&mut self, now: Duration) -> Vec<Listed> {
        self.forget_silent(now);
        let seconds = |then: Duration| now.saturating_sub(then).as_secs();
        let listed = |phone: &Phone| Listed {
            number: phone.number,
            from: phone.from.to_string(),
            paired_s: seconds(phone.since),
            silent_s: seconds(phone.seen),
        };
        self.phones.iter().map(listed).collect()
    }
}

/// The picture of an address that a phone's camera reads, dark on light whatever the theme.
pub fn picture(address: &str) -> Result<String, String> {
    let code = qrcode::QrCode::new(address).map_err(|error| format!("no picture of the address: {error}"))?;
    Ok(code.render::<qrcode::render::svg::Color<'_>>().min_dimensions(240, 240).build())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::Ipv4Addr;

    const FROM: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);

    fn list() -> List {
        List { times: Times::default(), code: None, phones: Vec::new(), paired: 0 }
    }

    const fn s(seconds: u64) -> Duration {
        Duration::from_secs(seconds)
    }

    #[test]
    fn a_code_works_once_for_ten_minutes_and_only_the_newest() {
        let mut list = list();
        assert!(list.pair("", "t0".into(), FROM, s(0)).is_err());
        list.offer("one".into(), s(0));
        assert!(list.pair("other", "t1".into(), FROM, s(1)).is_err());
        assert_eq!(list.pair("one", "t1".into(), FROM, s(599)), Ok(1));
        assert!(list.pair("one", "t2".into(), FROM, s(599)).is_err());
        list.offer("two".into(), s(600));
        assert!(list.pair("two", "t2".into(), FROM, s(1200)).is_err(), "ten minutes are over");
        list.offer("three".into(), s(1300));
        list.offer("four".into(), s(1301));
        assert!(list.pair("three", "t3".into(), FROM, s(1302)).is_err());
        assert_eq!(list.pair("four", "t4".into(), FROM, s(1302)), Ok(2));
    }

    #[test]
    fn a_silent_phone_is_shut_out_and_one_that_asks_is_not() {
        let mut list = list();
        for (code, token, at) in [("one", "t1", 0), ("two", "t2", 10)] {
            list.offer(code.into(), s(at));
            list.pair(code, token.into(), FROM, s(at)).unwrap();
        }
        let day = 8 * 3600;
        assert_eq!(list.known(b"t1", s(day - 1)), Some(1));
        assert_eq!(list.known(b"t2", s(day + 10)), None, "silent for eight hours");
        assert_eq!(list.known(b"t1", s(2 * day - 2)), Some(1));
        assert_eq!(list.listed(s(2 * day)).len(), 1);
        assert_eq!(list.known(b"", s(2 * day)), None);
    }

    #[test]
    fn no_more_phones_than_hands() {
        let mut list = list();
        for k in 0..MAX_PHONES {
            list.offer(format!("c{k}"), s(0));
            list.pair(&format!("c{k}"), format!("t{k}"), FROM, s(0)).unwrap();
        }
        list.offer("more".into(), s(1));
        assert!(list.pair("more", "more".into(), FROM, s(1)).unwrap_err().contains("12 phones"));
    }
}
