//! The one rule that holds under every set: cutting roots close to the trunk is a matter of stability, whatever the finding.

/// A severing cut within this many trunk diameters of the trunk centre is for a qualified arborist to judge first.
///
/// # Source
/// E. T. Smiley, Root pruning and stability of young willow oak, *Arboriculture and Urban Forestry* 34(2):123-128, 2008 (abstract
/// seen): force lost when a straight cut is within 3 trunk diameters; recommends trenches at 3 diameters or more.
pub const STABILITY_DIAMETERS: f64 = 3.0;

/// The same for people.
pub const STABILITY_TEXT: &str = "any severing cut within 3 trunk diameters of the trunk centre: qualified arborist before cutting \
     (Smiley 2008, Arboriculture and Urban Forestry 34(2):123-128; seen, abstract)";
