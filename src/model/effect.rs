//! What a work does to roots.

/// One effect.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Effect {
    /// Stands on the ground.
    Occupy,
    /// Cuts into the ground.
    Cut,
    /// Seals the surface.
    Seal,
    /// Raises the ground.
    Fill,
    /// Presses the ground together.
    Compact,
    /// Passes beneath.
    Bore,
}

impl Effect {
    /// All effects, in the order of columns.
    pub const ALL: [Effect; 6] =
        [Effect::Occupy, Effect::Cut, Effect::Seal, Effect::Fill, Effect::Compact, Effect::Bore];

    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Effect::Occupy => "occupy",
            Effect::Cut => "cut",
            Effect::Seal => "seal",
            Effect::Fill => "fill",
            Effect::Compact => "compact",
            Effect::Bore => "bore",
        }
    }

    /// Reads the word.
    pub fn parse(word: &str) -> Option<Effect> {
        Effect::ALL.into_iter().find(|effect| effect.word() == word)
    }
}

/// A set of effects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, serde::Serialize, serde::Deserialize)]
pub struct Effects(u8);

impl Effects {
    /// No effect.
    pub const NONE: Effects = Effects(0);
    /// Every effect that counts as overlap by default: all but a bore (a shallow bore also carries `cut`).
    pub const COUNTED: Effects = Effects(0b01_1111);

    /// The set of the given effects.
    pub fn of(effects: &[Effect]) -> Effects {
        effects.iter().fold(Effects::NONE, |set, &effect| set.with(effect))
    }

    /// This set and one more.
    #[must_use]
    pub fn with(self, effect: Effect) -> Effects {
        Effects(self.0 | 1 << effect as u8)
    }

    /// This set without those of another.
    #[must_use]
    pub fn without(self, other: Effects) -> Effects {
        Effects(self.0 & !other.0)
    }

    /// Whether the effect is in the set.
    pub fn has(self, effect: Effect) -> bool {
        self.0 & 1 << effect as u8 != 0
    }

    /// Whether the two sets share an effect.
    pub fn meets(self, other: Effects) -> bool {
        self.0 & other.0 != 0
    }

    /// Whether the set is empty.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The effects, in order.
    pub fn iter(self) -> impl Iterator<Item = Effect> {
        Effect::ALL.into_iter().filter(move |&effect| self.has(effect))
    }

    /// The words joined with `+`, e.g. `cut+seal`.
    pub fn words(self) -> String {
        self.iter().map(Effect::word).collect::<Vec<_>>().join("+")
    }
}
