//! `ohmline settings`

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use ohmline_analysis::load::normalize;
use ohmline_lint::limits::{Limit, Limits};
use ohmline_lint::{Level, meta};
use ohmline_report::Tone;
use ohmline_settings::keys::{keys, markdown, written};
use ohmline_settings::{File, Origin};
use serde_json::{Value, json};

use crate::Status;
use crate::cli::{InForceArgs, InForceFormat};
use crate::input;
use crate::settings::{Chooser, Chosen, place};
use crate::terminal::Terminal;

/// Runs the command.
pub fn run(args: &InForceArgs) -> Status {
    let terminal = Terminal::new();
    if args.list {
        let _ = terminal.write(list(args.format, terminal).as_bytes());
        return Status::Fine;
    }
    if args.format == InForceFormat::Markdown {
        terminal.complain("Markdown is for --list; what is in force is written as text or JSON");
        return Status::Unusable;
    }
    let file = args.file.clone().unwrap_or_else(|| PathBuf::from("."));
    if !input::is_stdin(&file) && !file.exists() {
        terminal.complain(&format!("cannot read {}: there is no such file", input::name(&file)));
        return Status::Unusable;
    }
    let settings = Chooser::new(&args.above, &[]);
    let chosen = match std::path::absolute(&file) {
        Ok(folder) if file.is_dir() => settings.within(&normalize(&folder)),
        _ => settings.of(&file),
    };
    let out = match args.format {
        InForceFormat::Json => format!("{:#}\n", in_json(&file, &chosen)),
        _ => in_words(&file, &chosen, terminal),
    };
    let (said, status) = settings.told(terminal);
    terminal.say(&said);
    let _ = terminal.write(out.as_bytes());
    status
}

/// Every setting.
fn list(format: InForceFormat, terminal: Terminal) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    match format {
        InForceFormat::Markdown => return markdown(),
        InForceFormat::Json => {
            let key = |key: &ohmline_settings::keys::Key| json!({ "name": key.name, "takes": key.takes, "usual": key.usual, "summary": key.summary, "example": key.example });
            let all: Vec<Value> = keys().iter().map(key).collect();
            let _ = writeln!(out, "{:#}", json!({ "schema": 1, "settings": all }));
        }
        InForceFormat::Text => {
            for key in keys() {
                let _ = writeln!(out, "{}", terminal.out.tone(Tone::Strong, &key.name));
                let _ = writeln!(out, "  {}", key.summary);
                let _ = writeln!(out, "  takes {}; usually {}", plain(&key.takes), plain(&key.usual));
            }
            let _ = writeln!(out, "{}", terminal.out.tone(Tone::Strong, "profiles"));
            for profile in ohmline_settings::profile::PROFILES {
                let _ = writeln!(out, "  {:<24} {}", profile.name, profile.summary);
            }
        }
    }
    out
}

/// Without the marks of Markdown.
fn plain(text: &str) -> String {
    text.replace('`', "")
}

fn path_of(file: &File) -> &str {
    file.analysis.sources.files.first().map_or("", |source| source.name.as_str())
}

fn in_words(asked: &Path, chosen: &Chosen, terminal: Terminal) -> String {
    let mut out = String::new();
    let file = chosen.file.as_deref();
    let force = &chosen.force;
    let faint = |text: &str| terminal.out.tone(Tone::Faint, text);
    let from = |origin: &Option<Origin>| match origin {
        Some(origin) => place(origin, file),
        None => "usual".to_owned(),
    };
    // Writing to a string cannot fail.
    let mut row = |name: &str, value: &str, from: &str| {
        let _ = writeln!(out, "{name:<11}{value:<24}{}", faint(from));
    };
    row("for", &input::name(asked), "");
    row("file", file.map_or("none", path_of), "");
    row("voice", force.findings.voice.word(), &from(&force.voice));
    match force.profiles.as_slice() {
        [] => row("profile", "none", "usual"),
        several => several.iter().for_each(|(name, origin)| row("profile", name, &place(origin, file))),
    }
    let topics: Vec<&str> = force.findings.not_met.iter().map(|topic| topic.words()).collect();
    if !topics.is_empty() {
        row("not met", &topics.join(", "), "");
    }
    match force.deny.as_slice() {
        [] => row("deny", "nothing", "usual"),
        several => several.iter().for_each(|(deny, origin)| row("deny", deny.word(), &place(origin, file))),
    }
    out = out.lines().map(|line| format!("{}\n", line.trim_end())).collect();
    let usual = |rule: &str| meta(rule).map_or("", |meta| meta.severity.word());
    if !force.levels.is_empty() {
        let _ = writeln!(out, "\n{}", terminal.out.tone(Tone::Strong, "levels"));
    }
    for (rule, (level, origin)) in &force.levels {
        let change = if Level::of_word(usual(rule)) == Some(*level) {
            level.word().to_owned()
        } else {
            format!("{}, usually {}", level.word(), usual(rule))
        };
        let _ = writeln!(out, "  {rule:<24} {change:<26} {}", faint(&place(origin, file)));
    }
    let _ = writeln!(out, "\n{}", terminal.out.tone(Tone::Strong, "limits"));
    for limit in Limit::ALL {
        let own = force.limits.iter().find(|(own, _)| own == &limit).map(|(_, origin)| origin.clone());
        let (now, usual) = (written(limit, &force.findings.limits), written(limit, &Limits::default()));
        let change = if now == usual { now } else { format!("{now}, usually {usual}") };
        let _ = writeln!(out, "  {:<24} {change:<26} {}", limit.name, faint(&from(&own)));
    }
    out
}

fn in_json(asked: &Path, chosen: &Chosen) -> Value {
    let file = chosen.file.as_deref();
    let force = &chosen.force;
    let from = |origin: &Origin| match (origin.layer, file) {
        (0, Some(file)) => json!({ "file": path_of(file), "line": file.line(origin.at), "profile": origin.profile }),
        _ => json!({ "file": null, "line": null, "profile": origin.profile }),
    };
    let levels = force.levels.iter().map(|(rule, (level, origin))| {
        let usual = meta(rule).map(|meta| meta.severity.word());
        json!({ "rule": rule, "level": level.word(), "usual": usual, "from": from(origin) })
    });
    let limits = Limit::ALL.iter().map(|limit| {
        let own = force.limits.iter().find(|(own, _)| own == &limit).map(|(_, origin)| from(origin));
        let (value, usual) = (limit.of(&force.findings.limits), limit.of(&Limits::default()));
        json!({ "limit": limit.name, "value": value, "unit": limit.unit.word(), "usual": usual, "from": own })
    });
    let profiles = force.profiles.iter().map(|(name, origin)| json!({ "name": name, "from": from(origin) }));
    let deny = force.deny.iter().map(|(deny, origin)| json!({ "what": deny.word(), "from": from(origin) }));
    json!({
        "schema": 1,
        "for": input::name(asked),
        "file": file.map(path_of),
        "voice": { "value": force.findings.voice.word(), "from": force.voice.as_ref().map(from) },
        "profiles": profiles.collect::<Vec<_>>(),
        "not_met": force.findings.not_met.iter().map(|topic| topic.words()).collect::<Vec<_>>(),
        "deny": deny.collect::<Vec<_>>(),
        "levels": levels.collect::<Vec<_>>(),
        "limits": limits.collect::<Vec<_>>(),
    })
}
