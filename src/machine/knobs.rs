//! What a maker can change in a machine that stands on the bench, and what that costs: the amounts by which each key is
//! changed, and in what order costs are weighed. What only one kind of element has stands in the kind's file.

use super::fields::Fields;

/// What a change costs its maker. Common practice among makers of wooden machines, no source: what turns is cheaper than what
/// is set anew, that is cheaper than a cut, a cut than a drilled hole, and a hole than a part made again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum CostClass {
    /// Nothing but a hand: the load, the speed.
    Turn,
    /// A screw undone: slopes, guides, phases.
    Reset,
    /// A saw or a plane: lengths, walls, mouths.
    Recut,
    /// A new disc with new holes: bores, depths, circles.
    Redrill,
    /// A part made again.
    Rebuild,
}

impl CostClass {
    /// All, the cheapest first.
    pub const ALL: [CostClass; 5] = [
        CostClass::Turn,
        CostClass::Reset,
        CostClass::Recut,
        CostClass::Redrill,
        CostClass::Rebuild,
    ];

    /// Its word in the file.
    pub fn name(self) -> &'static str {
        match self {
            CostClass::Turn => "turn",
            CostClass::Reset => "reset",
            CostClass::Recut => "recut",
            CostClass::Redrill => "redrill",
            CostClass::Rebuild => "rebuild",
        }
    }

    /// What is done, in a few words.
    pub fn says(self) -> &'static str {
        match self {
            CostClass::Turn => "turn a knob",
            CostClass::Reset => "set anew",
            CostClass::Recut => "cut anew",
            CostClass::Redrill => "drill anew",
            CostClass::Rebuild => "build anew",
        }
    }
}

/// A key that can be changed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Knob {
    /// The key as it stands below its kind or section; of segments, below their number.
    pub key: &'static str,
    /// What changing it costs.
    pub class: CostClass,
    /// How it is changed.
    pub change: KnobChange,
}

/// How a key is changed. In sentences `@` stands for the element, `#` for the amount.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KnobChange {
    /// By amounts that a workshop can tell apart.
    Amount {
        /// The least of them, in `unit`.
        step: f64,
        /// The unit as the file writes it; empty for a bare number.
        unit: &'static str,
        /// What is done to have more of it.
        more: &'static str,
        /// To have less.
        less: &'static str,
    },
    /// A measured time, by shares of itself; the form of its law stays.
    Time {
        /// What is done to have marbles take longer.
        more: &'static str,
        /// To have them take less long.
        less: &'static str,
    },
    /// To a word.
    Word {
        /// The word.
        to: &'static str,
        /// What is done.
        says: &'static str,
    },
}

impl Knob {
    /// A key that is changed by amounts, with what is done to have `[more, less]`.
    pub const fn amount(
        (key, class): (&'static str, CostClass),
        (step, unit): (f64, &'static str),
        [more, less]: [&'static str; 2],
    ) -> Knob {
        Knob {
            key,
            class,
            change: KnobChange::Amount {
                step,
                unit,
                more,
                less,
            },
        }
    }

    /// A measured time, with what is done to have `[more, less]` of it.
    pub const fn time(
        (key, class): (&'static str, CostClass),
        [more, less]: [&'static str; 2],
    ) -> Knob {
        Knob {
            key,
            class,
            change: KnobChange::Time { more, less },
        }
    }

    /// A key that is changed to a word.
    pub const fn word(
        (key, class): (&'static str, CostClass),
        to: &'static str,
        says: &'static str,
    ) -> Knob {
        Knob {
            key,
            class,
            change: KnobChange::Word { to, says },
        }
    }
}

/// What can be changed beside the elements, by section.
const BESIDE: &[(&str, Knob)] = &[
    (
        "marbles",
        Knob::amount(
            ("count", CostClass::Turn),
            (1.0, ""),
            ["add # marbles", "take out # marbles"],
        ),
    ),
    (
        "drive",
        Knob::amount(
            ("speed", CostClass::Turn),
            (0.25, "rpm"),
            ["turn the drive faster", "turn the drive slower"],
        ),
    ),
    (
        "drive",
        Knob::amount(
            ("motor.duty", CostClass::Turn),
            (0.05, ""),
            ["turn the motor up", "turn the motor down"],
        ),
    ),
];

/// The knobs of a section of the file that holds no elements.
pub fn beside(section: &str) -> Vec<Knob> {
    let all = BESIDE.iter().filter(|(of, _)| *of == section);
    all.map(|(_, knob)| *knob).collect()
}

impl Fields<'_> {
    /// In what order the maker weighs costs: as the file says, what it leaves out after that in the usual order;
    /// what is named twice counts where it stands first.
    pub(super) fn mend_order(&mut self) -> Vec<CostClass> {
        let mut written = Vec::new();
        if let Some(mut of) = self.map("mend") {
            let choices = CostClass::ALL.map(|class| (class.name(), class));
            written = of.choices("order", &choices).unwrap_or_default();
            of.finish();
        }
        let mut order = Vec::new();
        for class in written.into_iter().chain(CostClass::ALL) {
            if !order.contains(&class) {
                order.push(class);
            }
        }
        order
    }
}
