//! Line wrapping, and removal of terminal control characters.

#[cfg(feature = "cli")]
/// A text in which each terminal control character is replaced by a visible symbol.
pub(super) fn harmless(text: &str) -> String {
    let sign = |c: char| match u32::from(c) {
        0x0A => c,
        code @ 0..0x20 => char::from_u32(0x2400 + code).unwrap_or('\u{FFFD}'),
        0x7F => '\u{2421}',
        // C1 control characters, and characters that change the writing direction.
        0x80..0xA0 | 0x202A..=0x202E | 0x2066..=0x2069 => '\u{FFFD}',
        _ => c,
    };
    text.chars().map(sign).collect()
}

/// Wraps text into lines of at most `letters` characters, between words where possible.
pub(super) fn lines(text: &str, letters: usize) -> Vec<String> {
    let letters = letters.max(1);
    let mut lines: Vec<String> = Vec::new();
    let mut room = 0;
    for word in text.split_whitespace() {
        let word: Vec<char> = word.chars().collect();
        let mut rest = word.as_slice();
        if let Some(line) = lines.last_mut()
            && rest.len() < room
        {
            line.push(' ');
            line.extend(rest);
            room -= rest.len() + 1;
            continue;
        }
        while rest.len() > letters {
            lines.push(rest[..letters].iter().collect());
            rest = &rest[letters..];
        }
        lines.push(rest.iter().collect());
        room = letters - rest.len();
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_long_words_are_cut() {
        assert_eq!(
            lines("the oil is too thick", 8),
            ["the oil", "is too", "thick"]
        );
        assert_eq!(lines("abcdefghij kl", 4), ["abcd", "efgh", "ij", "kl"]);
        assert_eq!(lines("ab cd", 5), ["ab cd"]);
        assert!(lines("  ", 5).is_empty());
    }
}
