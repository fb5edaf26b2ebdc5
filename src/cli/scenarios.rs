//! The machine files that come with the program.

/// One machine file.
pub struct Scenario {
    /// Its name, that of its file without the ending.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! scenario {
    ($name:literal) => {
        Scenario {
            name: $name,
            text: include_str!(concat!("../../scenarios/", $name, ".yaml")),
        }
    };
}

/// All of them, in the order of their names.
pub const ALL: [Scenario; 11] = [
    scenario!("circuit-a"),
    scenario!("harbour-chimes"),
    scenario!("harbour-weir"),
    scenario!("lantern-walk"),
    scenario!("lock-stairs"),
    scenario!("pier-fair"),
    scenario!("quay-crane"),
    scenario!("spring-tide"),
    scenario!("starter-loop"),
    scenario!("storm-wheel"),
    scenario!("tide-clock"),
];

impl Scenario {
    /// The first sentence of the comment at its head, without the title.
    pub fn says(&self) -> String {
        let lines = self
            .text
            .lines()
            .skip_while(|line| line.starts_with("# yaml-language-server"));
        let comment: Vec<&str> = lines
            .map_while(|line| line.strip_prefix('#'))
            .map(str::trim)
            .collect();
        let comment = comment.join(" ");
        let text = match comment.split_once(": ") {
            Some((title, text)) if title.len() < 30 => text,
            _ => comment.as_str(),
        };
        text.split_inclusive(". ")
            .next()
            .unwrap_or(text)
            .trim()
            .trim_end_matches('.')
            .to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_is_there_and_says_what_it_is() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
        let mut names: Vec<String> = std::fs::read_dir(folder)
            .expect("scenarios/")
            .map(|file| file.expect("a file").path())
            .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
            .map(|path| {
                path.file_stem()
                    .expect("a name")
                    .to_string_lossy()
                    .into_owned()
            })
            .collect();
        names.sort();
        assert_eq!(
            names,
            ALL.iter().map(|scenario| scenario.name).collect::<Vec<_>>()
        );
        for scenario in &ALL {
            let says = scenario.says();
            assert!((8..160).contains(&says.len()), "{}: {says}", scenario.name);
        }
    }
}
