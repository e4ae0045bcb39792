//! Starts the Ohmline language server from the path of the project that is open.

use zed_extension_api::{self as zed, Command, LanguageServerId, Result, Worktree};

struct Ohmline;

impl zed::Extension for Ohmline {
    fn new() -> Self {
        Self
    }

    fn language_server_command(&mut self, _: &LanguageServerId, worktree: &Worktree) -> Result<Command> {
        let command = worktree
            .which("ohmline")
            .ok_or("the command `ohmline` is not on the path; install it and open the folder again")?;
        Ok(Command { command, args: vec!["serve".into()], env: worktree.shell_env() })
    }
}

zed::register_extension!(Ohmline);
