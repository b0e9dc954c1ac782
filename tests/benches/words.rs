//! The words behind `--` of a benchmark that is a command: what is asked, then its options.

/// The words of the command line.
pub struct Words(Vec<String>);

impl Words {
    /// As this program was called.
    pub fn given() -> Words {
        // Cargo adds a flag of its own.
        Words(std::env::args().skip(1).filter(|word| word != "--bench").collect())
    }

    /// What stands before the first option.
    pub fn asked(&self) -> Vec<&str> {
        self.0.iter().map(String::as_str).take_while(|word| !word.starts_with("--")).collect()
    }

    /// Whether an option was given.
    pub fn has(&self, flag: &str) -> bool {
        self.0.iter().any(|word| word == flag)
    }

    /// The word behind an option.
    pub fn after(&self, flag: &str) -> Option<&str> {
        let place = self.0.iter().position(|word| word == flag)?;
        self.0.get(place + 1).map(String::as_str)
    }

    /// The whole number behind an option, else the usual one.
    pub fn number(&self, flag: &str, usual: usize) -> usize {
        let parsed = |n: &str| n.parse().unwrap_or_else(|_| panic!("{flag}: {n:?} is no number"));
        self.after(flag).map_or(usual, parsed)
    }
}
