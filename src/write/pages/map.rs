//! One permit -> its maps: SVG to scale, with works, root zones, overlaps, severed ground, protection, trunks and labels.
//!
//! Text on a map is numbers and labels of the program's own; what comes from files stands in the tables beside it.

use super::map_frame::{Frame, WIDTH, Window, groups};
use super::map_labels::{Block, Labels};
use super::map_legend;
use super::map_north::{STRIP, strip, true_north_deg};
use super::map_paths::{cut, path, shows};
use super::marks::mark;
use super::plain_text::escaped;
use super::site::Site;
use super::words::Words;
use crate::model::results::Row;
use crate::model::zone::Zone;
use crate::settings::ShownUnits;
use crate::write::layers::Drawing;
use geo::{Coord, InteriorPoint, MultiPolygon};
use std::fmt::Write;

/// Maps of one permit, besides the overview.
const MOST_MAPS: usize = 24;
/// Ground around the outermost zone or work, metres.
const MARGIN_M: f64 = 1.5;
/// Works this far around the zones are on the map with them, metres.
const AROUND_M: f64 = 8.0;
/// A trunk is drawn no smaller than this, 0.01 mm.
const LEAST_TRUNK: f64 = 30.0;

/// A map.
pub struct PlanMap {
    /// The drawing.
    pub svg: String,
    /// 1 to so many.
    pub scale: u32,
    /// Numbers of the trees on it, as a text.
    pub trees: String,
    /// Works go on beyond its edge.
    pub beyond: bool,
    /// It shows where the others are.
    pub overview: bool,
}

/// All maps of a permit, and how many were left out.
pub fn maps(site: &Site, drawing: &Drawing, units: ShownUnits, words: &Words) -> (Vec<PlanMap>, usize) {
    let windows: Vec<Window> = site.rows.iter().map(|row| site.window_of(row)).collect();
    let works = site.works.iter().map(|one| one.window).reduce(Window::joined);
    let join = |group: &[usize]| group.iter().map(|&index| windows[index]).reduce(Window::joined);
    let mut found = groups(&windows, units);
    found.sort_by_key(|group| group.first().copied());
    let left_out = found.len().saturating_sub(MOST_MAPS);
    found.truncate(MOST_MAPS);
    let draw = |window: Window, frames: &[Window], id: usize| {
        let window = window.grown(MARGIN_M);
        let several = id > 0 && found.len() > 1;
        let frame = if several { Frame::one_of_several(window, units) } else { Frame::fitting(window, units) };
        Painter { site, drawing, words, frame, overview: !frames.is_empty(), id, svg: String::new() }.draw(frames)
    };
    let detail = |group: &Vec<usize>| {
        let zones = join(group)?;
        // All works, where the scale allows it; else those around the zones.
        let all = works.map_or(zones, |works| works.joined(zones));
        let near = works.and_then(|works| works.common(zones.grown(AROUND_M))).map_or(zones, |near| near.joined(zones));
        let window =
            [all, near].into_iter().find(|one| found.len() == 1 && Frame::measurable(one.grown(MARGIN_M), units));
        Some(window.unwrap_or(zones))
    };
    let details: Vec<Window> = found.iter().filter_map(detail).collect();
    let mut maps = Vec::new();
    if details.len() > 1 {
        let all = details.iter().copied().chain(works).reduce(Window::joined);
        maps.extend(all.map(|all| draw(all, &details, 0)));
    }
    maps.extend(details.iter().enumerate().map(|(index, &window)| draw(window, &[], index + 1)));
    (maps, left_out)
}

pub(super) struct Painter<'a> {
    pub(super) site: &'a Site<'a>,
    drawing: &'a Drawing<'a>,
    words: &'a Words,
    pub(super) frame: Frame,
    overview: bool,
    pub(super) id: usize,
    pub(super) svg: String,
}

impl Painter<'_> {
    fn draw(mut self, frames: &[Window]) -> PlanMap {
        let (id, height) = (self.id, self.frame.height);
        let shown: Vec<usize> = (0..self.site.rows.len()).filter(|&index| self.on_map(index)).collect();
        let trees = ranges(&shown);
        self.open(&trees);
        let _ = write!(
            self.svg,
            "<clipPath id=\"clip{id}\"><path d=\"M0 0H{WIDTH}V{height}H0z\"/></clipPath><g clip-path=\"url(#clip{id})\">"
        );
        self.works();
        if !self.overview {
            self.zones(&shown);
            self.covers();
            self.taken(&shown);
            self.set_backs();
        }
        self.fences_and_lines();
        let mut labels = Labels::new(height);
        self.trunks(&shown, &mut labels);
        self.frames(frames, &mut labels);
        self.tree_labels(&shown, &mut labels);
        self.work_labels(&mut labels);
        let _ = write!(
            self.svg,
            "</g><path class=\"edge\" d=\"M0 0H{WIDTH}V{height}H0z\" fill=\"none\" stroke=\"#555\" stroke-width=\"20\"/>"
        );
        let north = true_north_deg(&self.frame, self.drawing.to_wgs84);
        self.svg.push_str(&strip(&self.frame, north, self.words));
        self.svg.push_str("</svg>");
        let window = self.frame.window;
        let beyond = self.site.works.iter().any(|one| one.window.common(window).is_some() && !window.holds(one.window));
        PlanMap { svg: self.svg, scale: self.frame.scale, trees, beyond, overview: self.overview }
    }

    fn open(&mut self, trees: &str) {
        let (id, site, words) = (self.id, self.site, self.words);
        let count = |number: usize| number.to_string();
        let title = words.fill("map", "title", &[("permit", &site.of.permit.id)]);
        let description = words.fill(
            "map",
            "description",
            &[
                ("works", &count(site.works.len())),
                ("trees", &count(site.rows.len())),
                ("counts", &super::tree_rows::counts(&site.rows, words)),
            ],
        );
        let _ = write!(
            self.svg,
            "<svg class=\"plan\" viewBox=\"0 0 {WIDTH} {}\" role=\"img\" aria-labelledby=\"map{id}-title map{id}-desc\" data-scale=\"{}\">\
             <title id=\"map{id}-title\">{} ({})</title><desc id=\"map{id}-desc\">{}</desc><path d=\"M0 0H{WIDTH}V{}H0z\" fill=\"#fff\"/>",
            self.frame.height + STRIP,
            self.frame.scale,
            escaped(&title),
            escaped(trees),
            escaped(&description),
            self.frame.height,
        );
    }

    fn place(&self, index: usize) -> Coord<f64> {
        self.site.tree(self.site.rows[index]).place
    }

    fn on_map(&self, index: usize) -> bool {
        shows(&self.frame, self.place(index), 0)
    }

    fn works(&mut self) {
        let window = self.frame.window;
        for one in self.site.works.iter().filter(|one| one.window.common(window).is_some()) {
            let data = path(&one.work.shape, &self.frame);
            if !data.is_empty() {
                let attributes = one.drawn.attributes();
                let _ = write!(self.svg, "<path class=\"work\" d=\"{data}\" {attributes} stroke-width=\"35\"/>");
            }
        }
    }

    fn circle(&mut self, class: &str, centre: (i64, i64), radius: f64, attributes: &str) {
        let (x, y) = centre;
        let _ = write!(self.svg, "<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{radius:.0}\" {attributes}/>");
    }

    fn zones(&mut self, shown: &[usize]) {
        for &index in shown {
            let row = self.site.rows[index];
            let Some(zone) = &row.zone else { continue };
            let centre = self.frame.at(self.place(index));
            if let Some(ground) = zone.ground() {
                self.shaped_zone(zone, ground, self.place(index));
                continue;
            }
            let radius = self.frame.length(zone.radius_m);
            self.circle(
                "zone",
                centre,
                radius,
                r##"fill="#009E73" fill-opacity=".09" stroke="#00664b" stroke-width="32""##,
            );
            for ring in zone.rings.iter().filter(|ring| ring.radius_m > 0.0) {
                let radius = self.frame.length(ring.radius_m);
                let look = r##"fill="none" stroke="#00664b" stroke-width="16" stroke-dasharray="90 70""##;
                self.circle("ring", centre, radius, look);
            }
        }
    }

    /// A zone that barriers shape, and its rings, cut to the ground that is left.
    fn shaped_zone(&mut self, zone: &Zone, ground: &MultiPolygon<f64>, place: Coord<f64>) {
        let rings = zone.rings.iter().filter(|ring| ring.radius_m > 0.0).map(|ring| ("ring", ring.radius_m));
        for (class, radius_m) in std::iter::once(("zone", zone.radius_m)).chain(rings) {
            let disc = MultiPolygon(vec![(self.drawing.disc_outline)(place, radius_m)]);
            let data = path(&(self.drawing.on_ground)(&disc, ground, place), &self.frame);
            let look = if class == "zone" { map_legend::ROOT_ZONE } else { map_legend::RING };
            let _ = write!(self.svg, "<path class=\"{class}\" d=\"{data}\" {look}/>");
        }
    }

    /// What is severed, then what is under works, each tree's by itself.
    fn taken(&mut self, shown: &[usize]) {
        let draw = |painter: &mut Self, class: &str, shape: MultiPolygon<f64>, look: &str| {
            let data = path(&shape, &painter.frame);
            if !data.is_empty() {
                let _ = write!(painter.svg, "<path class=\"{class}\" d=\"{data}\" {look}/>");
            }
        };
        for &index in shown {
            let shape = self.site.severed(self.site.rows[index], self.drawing);
            let look = r##"fill="url(#p-severed)" fill-opacity=".75" stroke="#a14d7c" stroke-width="16" stroke-dasharray="50 40""##;
            draw(self, "severed", shape, look);
        }
        for &index in shown {
            let shape = self.site.overlap(self.site.rows[index], self.drawing);
            let look = r##"fill="url(#p-overlap)" fill-opacity=".8" stroke="#9e4500" stroke-width="24""##;
            draw(self, "overlap", shape, look);
        }
    }

    fn trunks(&mut self, shown: &[usize], labels: &mut Labels) {
        for &index in shown {
            let row = self.site.rows[index];
            let centre = self.frame.at(self.place(index));
            let radius = trunk_radius(&self.frame, row);
            let look = match row.diameter.used_m() {
                Some(_) => r##"fill="#000" stroke="#fff" stroke-width="12""##,
                None => r##"fill="#fff" stroke="#000" stroke-width="24" stroke-dasharray="40 30""##,
            };
            self.circle("trunk", centre, radius, look);
            #[expect(clippy::cast_possible_truncation, reason = "a trunk on paper")]
            let size = (2.0 * radius) as i64 + 40;
            labels.keep_free(Block::around(centre, size, size));
        }
    }

    /// Where the other maps are.
    fn frames(&mut self, frames: &[Window], labels: &mut Labels) {
        for (index, window) in frames.iter().enumerate() {
            let (left, bottom) = self.frame.at(window.low);
            let (right, top) = self.frame.at(window.high);
            let (width, height) = ((right - left).max(80), (bottom - top).max(80));
            let _ = write!(
                self.svg,
                "<rect class=\"sheet-frame\" x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\" fill=\"none\" \
                 stroke=\"#000\" stroke-width=\"30\"/>"
            );
            let middle = (left + width / 2, top + height / 2);
            if let Some((block, far)) = labels.beside(middle, width.min(height) / 2, 460, 460) {
                self.leader(middle, block, far);
                let (x, y) = block.centre();
                let _ = write!(
                    self.svg,
                    "<circle class=\"label\" cx=\"{x}\" cy=\"{y}\" r=\"225\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"20\"/><text \
                     x=\"{x}\" y=\"{}\" text-anchor=\"middle\" font-size=\"280\" font-weight=\"700\">{}</text>",
                    y + 100,
                    index + 1
                );
            }
        }
    }

    fn leader(&mut self, point: (i64, i64), block: Block, far: bool) {
        if far {
            let (x, y) = block.centre();
            let _ = write!(
                self.svg,
                "<path class=\"leader\" d=\"M{} {}L{x} {y}\" stroke=\"#000\" stroke-width=\"14\"/>",
                point.0, point.1
            );
        }
    }

    fn tree_labels(&mut self, shown: &[usize], labels: &mut Labels) {
        if self.overview {
            return;
        }
        let mut pills = String::new();
        for &index in shown {
            let row = self.site.rows[index];
            let mut text = (index + 1).to_string();
            if !row.heritage_class.is_empty() {
                text.push_str(" H");
            }
            let width = 470 + 178 * i64::try_from(text.len()).unwrap_or(4);
            let point = self.frame.at(self.place(index));
            #[expect(clippy::cast_possible_truncation, reason = "a trunk on paper")]
            let clear = trunk_radius(&self.frame, row) as i64;
            let Some((block, far)) = labels.beside(point, clear, width, 440) else { continue };
            self.leader(point, block, far);
            let Block { x, y, width, height } = block;
            let dash = if row.borderline.is_empty() { "" } else { " stroke-dasharray=\"60 40\"" };
            let _ = write!(
                pills,
                "<g class=\"label\"><rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" rx=\"120\" fill=\"#fff\" \
                 fill-opacity=\".94\" stroke=\"#000\" stroke-width=\"14\"{dash}/><use href=\"#{}\" x=\"{}\" y=\"{}\" width=\"340\" \
                 height=\"340\"/><text x=\"{}\" y=\"{}\" font-size=\"310\" font-weight=\"700\">{text}</text></g>",
                mark(row.finding.verdict),
                x + 50,
                y + 50,
                x + 410,
                y + 328,
            );
        }
        self.svg.push_str(&pills);
    }

    fn work_labels(&mut self, labels: &mut Labels) {
        let window = self.frame.window;
        for one in self.site.works.iter().filter(|one| one.window.common(window).is_some()) {
            let parts = cut(&one.work.shape, &self.frame);
            let middles = parts.iter().filter_map(InteriorPoint::interior_point).map(|point| point.0);
            let sides = parts.iter().flat_map(|part| part.exterior().lines().map(|line| (line.start + line.end) / 2.0));
            let frame = &self.frame;
            let places = middles.chain(sides).filter(|&place| shows(frame, place, 200)).map(|place| frame.at(place));
            let width = 130 + 185 * i64::try_from(one.label.len()).unwrap_or(4);
            if let Some(block) = labels.on_one_of(places.take(60), width, 360) {
                let (x, y) = block.centre();
                let _ = write!(
                    self.svg,
                    "<text class=\"label work-label\" x=\"{x}\" y=\"{}\" text-anchor=\"middle\" font-size=\"290\" font-weight=\"600\" \
                     fill=\"#000\" stroke=\"#fff\" stroke-width=\"70\" paint-order=\"stroke\" stroke-linejoin=\"round\">{}</text>",
                    y + 105,
                    escaped(&one.label)
                );
            }
        }
    }
}

fn trunk_radius(frame: &Frame, row: &Row) -> f64 {
    frame.length(row.diameter.used_m().unwrap_or(0.3) / 2.0).max(LEAST_TRUNK)
}

/// `0, 1, 2, 5` as `1–3, 6`.
pub(super) fn ranges(indices: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &index in indices {
        match runs.last_mut() {
            Some((_, last)) if *last == index => *last = index + 1,
            _ => runs.push((index + 1, index + 1)),
        }
    }
    let words = runs.iter().map(|&(from, to)| match to - from {
        0 => from.to_string(),
        1 => format!("{from}, {to}"),
        _ => format!("{from}–{to}"),
    });
    words.collect::<Vec<_>>().join(", ")
}
