//! Manual pages and completions, made from the arguments.

use super::{Arguments, fail, print, save};
use clap::{Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;
use std::io;
use std::path::Path;
use std::process::ExitCode;

/// A script that completes commands and options.
pub fn completions(shell: Shell) -> String {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "loomwright", &mut script);
    String::from_utf8_lossy(&script).into_owned()
}

/// Prints the manual page, or writes it and one for each command into a folder.
pub fn pages(folder: Option<&Path>) -> Result<(), ExitCode> {
    let mut whole = Arguments::command().disable_help_subcommand(true);
    whole.build();
    let page = |command: &Command| page(command).map_err(|e| fail(&e.to_string()));
    let Some(folder) = folder else {
        print(&String::from_utf8_lossy(&page(&whole)?));
        return Ok(());
    };
    files::make_folder(folder).map_err(|e| fail(&format!("{}: the folder can't be made: {e}", folder.display())))?;
    save(&folder.join("loomwright.1"), &page(&whole)?)?;
    for command in whole.get_subcommands() {
        save(&folder.join(Man::new(command.clone()).get_filename()), &page(command)?)?;
    }
    Ok(())
}

/// One page, in the language of `man`.
fn page(command: &Command) -> io::Result<Vec<u8>> {
    let mut page = Vec::new();
    Man::new(command.clone()).render(&mut page)?;
    Ok(page)
}
