//! `taperwright bench`: the bow in a browser on this machine, tried while the hand moves; phones in the shop, where they are let in.

use super::Ended;
use super::args::BenchArgs;
use super::terminal::Terminal;
use crate::serve::shop::{self, address, name};
use crate::serve::{self, BenchAddress, Opened, Times};
use std::time::Duration;

pub fn bench(args: &BenchArgs, terminal: Terminal) -> Ended {
    let shop = args.shop.as_ref().map(|text| {
        let name = args.shop_name.as_deref().map(name).transpose()?;
        Ok(shop::ShopOpened { address: address(text)?, name, times: Times::default() })
    });
    let ready = |standing: &BenchAddress| {
        let shop = standing.shop.as_ref().map_or(String::new(), |shop| {
            format!(
                "phones find the shop at {shop}, once they are paired on the page\nwhoever is on that network can read along\n"
            )
        });
        let desk = &standing.desk;
        let _ =
            terminal.results(&format!("the bench stands at {desk}\n{shop}end it with Ctrl-C; what is not kept goes with it\n"));
        if !args.no_open && open::that_detached(desk).is_err() {
            terminal.remark("no browser came up: open the address yourself; over a remote shell, forward its port first", &[]);
        }
    };
    let served = shop.transpose().and_then(|shop| {
        let (file, lower, log) = (args.file.as_deref(), args.lower.as_deref(), args.log.as_deref());
        serve::serve(Opened { file, lower, log, port: args.port, shop: shop.as_ref(), today }, ready)
    });
    match served {
        Ok(()) => Ended::Well,
        Err(why) => {
            terminal.fault(&format!("error: {why}"));
            Ended::Files
        }
    }
}

/// The day so long ago, as a reading is dated.
pub fn today(ago: Duration) -> String {
    let ago = chrono::TimeDelta::from_std(ago).unwrap_or_default();
    (chrono::Local::now() - ago).format("%Y-%m-%d").to_string()
}
