//! The table of protection values (`values.toml`, and a file of the user's own over it) -> checked values, each with its source.
//!
//! No number of a fence or a cover stands in code. What is unknown in a file is refused with its line and the nearest known word.

use crate::error::{Error, Result};
use crate::model::traffic::Traffic;
use crate::rules::file::{Text, did_you_mean, nearest};
use crate::rules::provenance::{Provenance, Source, Sourced, Status};
use crate::rules::quantity::Length;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;
use toml::Spanned;

/// The built-in table.
const BUILT_IN: &str = include_str!("values.toml");

/// Posts and signs are no closer than this, metres: what is less is a slip of the unit.
const LEAST_SPACING_M: f64 = 0.1;

/// Materials of covers.
pub const MATERIALS: [&str; 6] = ["compost", "mulch", "geotextile", "chips", "boards", "mats"];

/// How a fence is built.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FenceValues {
    /// Its name, as typed with `--fence`.
    pub name: String,
    /// What it is.
    pub text: String,
    /// Height above ground.
    pub height: Sourced<Length>,
    /// Greatest distance from post to post; a panel is the stretch between two.
    pub post_spacing: Sourced<Length>,
    /// Greatest distance from sign to sign.
    pub sign_spacing: Sourced<Length>,
    /// Gates in each fence.
    pub gates: Sourced<u32>,
    /// Width of a gate.
    pub gate_width: Sourced<Length>,
    /// Where height and distance of posts come from, with the status of the sources.
    #[serde(skip)]
    pub origins: [String; 2],
}

/// One layer of a cover.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerValues {
    /// One of [`MATERIALS`].
    pub material: Spanned<String>,
    /// Least depth; none for sheets, boards and mats.
    pub least: Option<Length>,
    /// Greatest depth.
    pub most: Option<Length>,
    /// Where it comes from.
    pub from: Provenance,
}

/// What lies inside the fence, from the ground up.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InsideValues {
    /// Lowest first.
    pub layer: Vec<LayerValues>,
}

/// What lies outside under one traffic, from the ground up.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutsideValues {
    /// The heaviest traffic.
    pub traffic: Traffic,
    /// Whether an engineer has to design it.
    pub to_be_engineered: bool,
    /// Lowest first.
    pub layer: Vec<LayerValues>,
}

/// Kinds of temporary works that only bear traffic.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RouteValues {
    /// How heavy it is.
    pub traffic: Traffic,
    /// Kinds of work.
    pub kinds: Vec<String>,
    /// Where it comes from.
    pub from: Provenance,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct FenceLine {
    narrowest: Sourced<Length>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Trunk {
    kept_free: Sourced<Length>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Guard {
    height: Sourced<Length>,
}

#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Buildings {
    kinds: Vec<String>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct ValuesFile {
    #[serde(default)]
    sources: BTreeMap<String, Source>,
    #[serde(default)]
    fence: Vec<Spanned<FenceValues>>,
    fence_line: Option<Spanned<FenceLine>>,
    trunk: Option<Spanned<Trunk>>,
    guard: Option<Spanned<Guard>>,
    inside: Option<Spanned<InsideValues>>,
    #[serde(default)]
    outside: Vec<Spanned<OutsideValues>>,
    #[serde(default)]
    routes: Vec<Spanned<RouteValues>>,
    buildings: Option<Buildings>,
}

/// All values that fences and covers rest on.
#[derive(Debug, Clone)]
pub struct Values {
    /// Fences, the default first.
    pub fences: Vec<FenceValues>,
    /// What is narrower than this stays outside the fence.
    pub narrowest: Sourced<Length>,
    /// Ground kept free of cover around the trunk's face.
    pub kept_free: Sourced<Length>,
    /// Height of a guard around a trunk where no fence can stand.
    pub guard_height: Sourced<Length>,
    /// Cover inside the fence.
    pub inside: InsideValues,
    /// Covers outside, one per traffic, lightest first.
    pub outside: Vec<OutsideValues>,
    /// Temporary works that only bear traffic.
    pub routes: Vec<RouteValues>,
    /// Kinds of existing surfaces that a fence cannot cross.
    pub buildings: Vec<String>,
    /// The documents behind the values.
    pub sources: BTreeMap<String, Source>,
}

impl Values {
    /// The built-in table with a file of the user's own over it.
    ///
    /// # Errors
    /// `Io` for a file that cannot be read; `Rules` with line and column for a table that is wrong.
    pub fn load(own: Option<&Path>) -> Result<Values> {
        let built_in = Text { name: "built-in protection values", text: BUILT_IN };
        let mut values = Values::empty();
        values.lay_over(&built_in)?;
        if let Some(path) = own {
            let text = std::fs::read_to_string(path).map_err(|error| Error::io(path, "read", error))?;
            values.lay_over(&Text { name: &path.display().to_string(), text: &text })?;
        }
        for fence in &mut values.fences {
            fence.origins = [&fence.height.from, &fence.post_spacing.from].map(|from| from.citation(&values.sources));
        }
        Ok(values)
    }

    /// The fence of a name; the first where none is named.
    ///
    /// # Errors
    /// `Usage` for a name that is not in the table.
    pub fn fence(&self, name: Option<&str>) -> Result<&FenceValues> {
        let Some(name) = name else { return Ok(&self.fences[0]) };
        let names: Vec<&str> = self.fences.iter().map(|fence| fence.name.as_str()).collect();
        self.fences.iter().find(|fence| fence.name == name).ok_or_else(|| Error::Usage {
            what: format!("no fence is named `{name}`; expected one of {}", names.join(", ")),
            hint: match nearest(name, &names) {
                Some(near) => format!("--fence {near}"),
                None => "--fence NAME, or add it with --protection-values FILE".to_string(),
            },
        })
    }

    /// The cover for a traffic.
    pub fn outside(&self, traffic: Traffic) -> Option<&OutsideValues> {
        self.outside.iter().find(|cover| cover.traffic == traffic)
    }

    /// The traffic of a kind of work, where it only bears traffic.
    pub fn route(&self, kind: &str) -> Option<Traffic> {
        self.routes.iter().find(|route| route.kinds.iter().any(|known| known == kind)).map(|route| route.traffic)
    }

    fn empty() -> Values {
        let nothing = |written: &str| Sourced {
            is: Length { written: written.to_string(), metres: 0.0 },
            from: Provenance {
                source: None,
                clause: String::new(),
                status: Status::CommonPractice,
                date: crate::rules::provenance::Day(String::new()),
                note: String::new(),
            },
        };
        Values {
            fences: Vec::new(),
            narrowest: nothing("0 m"),
            kept_free: nothing("0 m"),
            guard_height: nothing("0 m"),
            inside: InsideValues::default(),
            outside: Vec::new(),
            routes: Vec::new(),
            buildings: Vec::new(),
            sources: BTreeMap::new(),
        }
    }

    fn lay_over(&mut self, text: &Text<'_>) -> Result<()> {
        let file: ValuesFile = text.parse()?;
        self.sources.extend(file.sources.clone());
        self.check(&file, text)?;
        for fence in file.fence.into_iter().map(Spanned::into_inner) {
            match self.fences.iter_mut().find(|known| known.name == fence.name) {
                Some(known) => *known = fence,
                None => self.fences.push(fence),
            }
        }
        for cover in file.outside.into_iter().map(Spanned::into_inner) {
            self.outside.retain(|known| known.traffic != cover.traffic);
            self.outside.push(cover);
        }
        self.outside.sort_by_key(|cover| cover.traffic);
        for route in file.routes.into_iter().map(Spanned::into_inner) {
            // A kind bears one traffic only: the later word holds.
            self.routes.iter_mut().for_each(|known| known.kinds.retain(|kind| !route.kinds.contains(kind)));
            self.routes.push(route);
        }
        let set = |value: &mut Sourced<Length>, new: Option<Sourced<Length>>| {
            if let Some(new) = new {
                *value = new;
            }
        };
        set(&mut self.narrowest, file.fence_line.map(|line| line.into_inner().narrowest));
        set(&mut self.kept_free, file.trunk.map(|trunk| trunk.into_inner().kept_free));
        set(&mut self.guard_height, file.guard.map(|guard| guard.into_inner().height));
        self.inside = file.inside.map_or_else(|| self.inside.clone(), Spanned::into_inner);
        self.buildings = file.buildings.map_or_else(|| self.buildings.clone(), |buildings| buildings.kinds);
        Ok(())
    }

    fn check(&self, file: &ValuesFile, text: &Text<'_>) -> Result<()> {
        for fence in &file.fence {
            let (at, fence) = (fence.span().start, fence.get_ref());
            for from in [&fence.height, &fence.post_spacing, &fence.sign_spacing, &fence.gate_width].map(|v| &v.from) {
                self.check_from(from, at, text)?;
            }
            self.check_from(&fence.gates.from, at, text)?;
            for (word, spacing) in [("post_spacing", &fence.post_spacing), ("sign_spacing", &fence.sign_spacing)] {
                if spacing.is.metres < LEAST_SPACING_M {
                    let what = format!("{word} is {}; expected at least {LEAST_SPACING_M} m", spacing.is.written);
                    return Err(text.error(at, what, "write the length with its unit, such as \"10 ft\""));
                }
            }
        }
        let single = file.fence_line.iter().map(|v| (v.span().start, &v.get_ref().narrowest));
        let single = single.chain(file.trunk.iter().map(|v| (v.span().start, &v.get_ref().kept_free)));
        let single = single.chain(file.guard.iter().map(|v| (v.span().start, &v.get_ref().height)));
        for (at, value) in single {
            self.check_from(&value.from, at, text)?;
        }
        for route in &file.routes {
            self.check_from(&route.get_ref().from, route.span().start, text)?;
        }
        let layers = file.inside.iter().flat_map(|inside| &inside.get_ref().layer);
        for layer in layers.chain(file.outside.iter().flat_map(|outside| &outside.get_ref().layer)) {
            self.check_layer(layer, text)?;
        }
        Ok(())
    }

    fn check_layer(&self, layer: &LayerValues, text: &Text<'_>) -> Result<()> {
        let (at, material) = (layer.material.span().start, layer.material.get_ref().as_str());
        if !MATERIALS.contains(&material) {
            let what = format!("unknown material `{material}`; expected one of {}", MATERIALS.join(", "));
            return Err(text.error(at, what, did_you_mean(material, &MATERIALS)));
        }
        self.check_from(&layer.from, at, text)?;
        match (&layer.least, &layer.most) {
            (None, None) => Ok(()),
            (Some(least), Some(most)) if least.metres <= most.metres => Ok(()),
            (Some(least), Some(most)) => {
                let what = format!("the least depth {} is over the greatest, {}", least.written, most.written);
                Err(text.error(at, what, "exchange `least` and `most`"))
            }
            _ => Err(text.error(
                at,
                format!("{material} has one of `least` and `most`; expected both or neither"),
                "write both; where the depth is one number, write it twice",
            )),
        }
    }

    /// Every value needs a source that exists; only common practice may do without.
    fn check_from(&self, from: &Provenance, at: usize, text: &Text<'_>) -> Result<()> {
        match from.key() {
            Some((key, at)) if !self.sources.contains_key(key) => {
                let known: Vec<&str> = self.sources.keys().map(String::as_str).collect();
                let what = format!("unknown source `{key}`; expected a key of [sources]: {}", known.join(", "));
                Err(text.error(at, what, did_you_mean(key, &known)))
            }
            None if from.status != Status::CommonPractice => {
                let what = format!("no source is named for a value whose status is `{}`", from.status.word());
                Err(text.error(at, what, "add `source = \"...\"`, or say `status = \"common practice\"`"))
            }
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
#[path = "values_tests.rs"]
mod tests;
