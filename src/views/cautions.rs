//! What can hurt people at this work: said on every paper that leaves the tool, in one wording.

/// One caution: a few words that name it, and what to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Caution {
    pub title: &'static str,
    pub text: &'static str,
}

/// All cautions, in the order in which they are printed. Common practice, no source.
pub(crate) static CAUTIONS: &[Caution] = &[
    Caution {
        title: "Stored energy",
        text: "Before work, switch off and lock out every drive, and secure or release what is held up by air, oil, springs or weight.",
    },
    Caution {
        title: "Crush points",
        text: "Keep hands out from between carriage and frame. Nobody moves the carriage while somebody else is within its reach.",
    },
    Caution {
        title: "Blocks can run off",
        text: "A block runs off an open rail end, and falls from an upright rail. Fit stops and secure the carriage before the last bolt of an end stop is loosened.",
    },
    Caution {
        title: "Long rails",
        text: "Two people carry a long rail. It bends, swings and kinks where one person lifts it.",
    },
    Caution { title: "Shims cut", text: "Shims are thin steel with sharp edges. Wear gloves that stand cuts." },
];

/// What the tool is not, said with the cautions.
pub(crate) const NO_SUBSTITUTE: &str = "This tool records and computes. It does not replace the instructions of the makers of rails, blocks and bolts, the rules that hold where the machine stands, or the judgement of a licensed engineer.";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_danger_of_the_work_is_named() {
        let all: String = CAUTIONS.iter().map(|caution| format!("{} {} ", caution.title, caution.text)).collect();
        for word in ["gloves", "Two people", "run off", "upright", "lock out", "carriage and frame"] {
            assert!(all.contains(word), "no caution mentions {word:?}");
        }
        assert!(NO_SUBSTITUTE.contains("makers") && NO_SUBSTITUTE.contains("licensed"));
    }
}
