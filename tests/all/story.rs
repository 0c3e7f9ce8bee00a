//! The guide's sessions are true: each command in them runs, and says what is quoted under it.

use assert_cmd::Command;

/// The texts in which commands and what they say are quoted.
const TEXTS: [(&str, &str); 4] = [
    ("README.md", include_str!("../../README.md")),
    ("guide/batch.md", include_str!("../../guide/batch.md")),
    ("guide/hot-idle.md", include_str!("../../guide/hot-idle.md")),
    ("guide/size.md", include_str!("../../guide/size.md")),
];

/// The commands of the quoted sessions, each with the lines under it.
fn sessions(text: &str) -> Vec<(String, Vec<&str>)> {
    let mut found: Vec<(String, Vec<&str>)> = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("```") {
            inside = line == "```text";
        } else if let (true, Some(command)) = (inside, line.strip_prefix("$ oilwheel ")) {
            found.push((command.to_string(), Vec::new()));
        } else if inside && let Some((_, said)) = found.last_mut() {
            said.push(line);
        }
    }
    found
}

/// The words of a command, of which some stand between quotation marks.
fn words(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in command.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            letter => words.last_mut().unwrap().push(letter),
        }
    }
    words
}

#[test]
fn each_session_of_the_guide_is_true() {
    let mut quoted = 0;
    for (name, text) in TEXTS {
        let sessions = sessions(text);
        assert!(!sessions.is_empty(), "{name} quotes no session");
        for (command, lines) in sessions {
            let output = Command::cargo_bin("oilwheel")
                .unwrap()
                .args(words(&command))
                .current_dir(env!("CARGO_MANIFEST_DIR"))
                .env("COLUMNS", "96")
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&output.stdout);
            // 1 where nothing meets what was required, which is then said.
            let code = output.status.code();
            assert!(matches!(code, Some(0 | 1)), "{name}: {command}");
            // In their order; `...` stands for lines left out.
            let mut rest = said.lines();
            for line in lines
                .iter()
                .filter(|l| !l.trim().is_empty() && **l != "...")
            {
                assert!(
                    rest.any(|l| l.trim() == line.trim()),
                    "{name}: `{command}` does not say\n{line}\nbut\n{said}"
                );
                quoted += 1;
            }
        }
    }
    assert!(quoted > 12, "only {quoted} lines are quoted");
}
