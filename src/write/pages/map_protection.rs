//! What protects the trees that stay, and how far works would have to keep away -> drawn onto a map.

use super::map::Painter;
use super::map_paths::path;
use geo::MultiPolygon;
use std::fmt::Write;

/// How a service line is drawn where it is advised to lie.
pub(super) const MOVED: &str = r##"fill="none" stroke="#0072B2" stroke-width="60" stroke-dasharray="160 80 40 80""##;
/// How a set-back is drawn.
pub(super) const SET_BACK: &str = r##"fill="none" stroke="#000" stroke-width="55" stroke-dasharray="150 90""##;

impl Painter<'_> {
    /// Ground cover, under everything else that is drawn on root zones.
    pub(super) fn covers(&mut self) {
        for cover in self.site.protection.iter().flat_map(|all| &all.covers) {
            let data = path(&cover.shape, &self.frame);
            if !data.is_empty() {
                let _ = write!(
                    self.svg,
                    "<path class=\"cover\" d=\"{data}\" fill=\"url(#p-cover)\" stroke=\"#00664b\" stroke-width=\"12\"/>"
                );
            }
        }
    }

    /// Fences, and service lines where they are advised to lie.
    pub(super) fn fences_and_lines(&mut self) {
        let Some(protection) = self.site.protection else { return };
        for fence in &protection.fences {
            let data = path(&MultiPolygon(vec![fence.shape.clone()]), &self.frame);
            if !data.is_empty() {
                // A line with posts: a wide dotted line under a thin one.
                let _ = write!(
                    self.svg,
                    "<path class=\"fence\" d=\"{data}\" fill=\"none\" stroke=\"#000\" stroke-width=\"45\"/><path d=\"{data}\" \
                     fill=\"none\" stroke=\"#000\" stroke-width=\"130\" stroke-dasharray=\"30 270\"/>"
                );
            }
        }
        for moved in protection.services.iter().filter_map(|line| line.moved.as_ref()) {
            let mut data = String::new();
            for line in &moved.lines {
                for (index, &place) in line.0.iter().enumerate() {
                    let (x, y) = self.frame.at(place);
                    let _ = write!(data, "{}{x} {y}", if index == 0 { 'M' } else { 'L' });
                }
            }
            let _ = write!(self.svg, "<path class=\"moved-line\" d=\"{data}\" {MOVED}/>");
        }
    }

    /// Where works would have to end: the circle around each trunk, as far as it lies within works.
    pub(super) fn set_backs(&mut self) {
        let site = self.site;
        let circles: Vec<((i64, i64), f64)> = site
            .rows
            .iter()
            .filter_map(|row| {
                let distance_m = site.set_back(row)?.distance_m?;
                Some((self.frame.at(site.tree(row).place), self.frame.length(distance_m)))
            })
            .collect();
        if circles.is_empty() {
            return;
        }
        let counted = site.works.iter().filter(|one| one.work.counted());
        let ground: String = counted.map(|one| path(&one.work.shape, &self.frame)).collect();
        let id = self.id;
        let _ = write!(
            self.svg,
            "<clipPath id=\"works{id}\"><path d=\"{ground}\"/></clipPath><g clip-path=\"url(#works{id})\">"
        );
        for ((x, y), radius) in circles {
            let _ = write!(self.svg, "<circle class=\"set-back\" cx=\"{x}\" cy=\"{y}\" r=\"{radius:.0}\" {SET_BACK}/>");
        }
        self.svg.push_str("</g>");
    }
}
