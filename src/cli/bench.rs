//! `taperwright bench`: the bow in a browser on this machine, tried while the hand moves.

use super::Ended;
use super::args::BenchArgs;
use super::terminal::Terminal;
use crate::serve::{self, Opened};

pub fn bench(args: &BenchArgs, terminal: Terminal) -> Ended {
    let ready = |address: &str| {
        let _ = terminal.results(&format!("the bench stands at {address}\nend it with Ctrl-C; what is not kept goes with it\n"));
        if !args.no_open && open::that_detached(address).is_err() {
            terminal.remark("no browser came up: open the address yourself; over a remote shell, forward its port first");
        }
    };
    match serve::serve(Opened { file: args.file.as_deref(), log: args.log.as_deref(), port: args.port }, ready) {
        Ok(()) => Ended::Well,
        Err(why) => {
            terminal.fault(&format!("error: {why}"));
            Ended::Files
        }
    }
}
