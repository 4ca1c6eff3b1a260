//! The classes of trees, bores and mitigations of a rule file, checked.

use super::check::Checker;
use super::quantity::{Bound, BoundUnit, Comparison};
use super::sizes::{Exempt, SizeClass};
use super::spared::{BoreRule, MitigationRule};
use super::who::Who;
use crate::error::Result;
use toml::Spanned;

impl Checker<'_> {
    pub(super) fn size_classes(&self, classes: Vec<Spanned<SizeClass>>) -> Result<Vec<SizeClass>> {
        classes.into_iter().map(|class| self.size_class(class)).collect()
    }

    fn size_class(&self, class: Spanned<SizeClass>) -> Result<SizeClass> {
        let at = class.span().start;
        let class = class.into_inner();
        self.from(&class.from, at)?;
        self.who(&class.who, at)?;
        match (&class.size, &class.circumference) {
            (Some(_), Some(_)) => {
                Err(self.text.error(at, "a class has both a size and a circumference; expected one of them", ""))
            }
            (None, None) if class.who.everyone() => Err(self.text.error(
                at,
                "a class has no size and is for every tree; expected `size`, `circumference` or `who`",
                "",
            )),
            (Some(size), None) | (None, Some(size)) => self.trunk_size(size, at).map(|()| class),
            (None, None) => Ok(class),
        }
    }

    fn trunk_size(&self, size: &Bound, at: usize) -> Result<()> {
        let upwards = matches!(size.comparison, Comparison::Over | Comparison::AtLeast);
        if size.unit == BoundUnit::Metre && upwards {
            return Ok(());
        }
        let what =
            format!("`{}` is no size of a trunk; expected > or >= and a length, such as \">= 30 in\"", size.written);
        Err(self.text.error(at, what, ""))
    }

    /// Heights are lengths; taxa are a genus, or a genus and more.
    pub(super) fn who(&self, who: &Who, at: usize) -> Result<()> {
        if let Some(height) = who.height.as_ref().filter(|height| height.unit != BoundUnit::Metre) {
            let what = format!("`{}` is no height; expected such as \">= 60 ft\"", height.written);
            return Err(self.text.error(at, what, ""));
        }
        if let Some(genus) = who.genus.iter().find(|genus| genus.split_whitespace().count() != 1) {
            let what = format!(
                "`{genus}` is no genus, which is one word; expected such as Quercus, or the name under `species`"
            );
            return Err(self.text.error(at, what, ""));
        }
        let capital = |taxon: &&String| !taxon.starts_with(|c: char| c.is_uppercase());
        if let Some(taxon) = who.species.iter().chain(&who.genus).chain(&who.not).find(capital) {
            let what = format!("`{taxon}` is no scientific name; expected such as Quercus or Quercus robur");
            return Err(self.text.error(at, what, ""));
        }
        Ok(())
    }

    pub(super) fn exempt(&self, exempt: Spanned<Exempt>) -> Result<Exempt> {
        let at = exempt.span().start;
        let exempt = exempt.into_inner();
        self.from(&exempt.from, at)?;
        self.who(&exempt.who, at)?;
        if exempt.who.everyone() {
            return Err(self.text.error(
                at,
                "the exemption is for every tree; expected `who` with at least one key",
                "",
            ));
        }
        Ok(exempt)
    }

    pub(super) fn bores(&self, bores: Spanned<BoreRule>) -> Result<BoreRule> {
        let at = bores.span().start;
        let bores = bores.into_inner();
        self.from(&bores.deep_from.from, at)?;
        Ok(bores)
    }

    pub(super) fn mitigation(&self, rule: Spanned<MitigationRule>) -> Result<MitigationRule> {
        let at = rule.span().start;
        let rule = rule.into_inner();
        self.from(&rule.from, at)?;
        if rule.removes.is_empty() && !rule.keeps_roots {
            return Err(self.text.error(
                at,
                "the mitigation changes nothing; expected `removes` or `keeps_roots = true`",
                "",
            ));
        }
        Ok(rule)
    }
}
