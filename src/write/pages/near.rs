//! Records set aside that may matter to a permit: its own works, and whatever lies so near its works that a root zone could reach them.

use super::Pages;
use super::plain_text::visible;
use super::side_tables::{PlainTable, table};
use super::site::Site;
use crate::issue::{Issue, Outcome};
use crate::write::view::View;
use geo::{Distance, Euclidean, MultiPolygon, Point, Rect};
use std::collections::{BTreeMap, HashMap};

/// Records this near the works are listed, metres: further than the root zone of a trunk of 2 m at 12 times its diameter. A choice of the program.
const NEAR_M: f64 = 25.0;
/// Records listed on one sheet.
const MOST_RECORDS: usize = 60;

/// All records set aside, by what is known of their place.
pub struct SetAside<'a> {
    /// By the western edge of their ground.
    placed: Vec<(Rect<f64>, &'a Issue)>,
    widest_m: f64,
    of_permit: HashMap<&'a str, Vec<&'a Issue>>,
    /// Neither place nor permit is known.
    anywhere: usize,
}

/// What a sheet says of records set aside.
pub struct Near {
    /// Those that are listed.
    pub table: PlainTable,
    /// That there are none, that there are more, that some may lie anywhere.
    pub said: Vec<String>,
}

impl<'a> SetAside<'a> {
    /// Sorts what was set aside.
    pub fn new(view: &View<'a>) -> SetAside<'a> {
        let mut all = SetAside { placed: Vec::new(), widest_m: 0.0, of_permit: HashMap::new(), anywhere: 0 };
        for issue in view.results.issues.iter().filter(|issue| issue.outcome == Outcome::SetAside) {
            if !issue.permit.is_empty() {
                all.of_permit.entry(&issue.permit).or_default().push(issue);
            }
            match issue.ground {
                Some(ground) => all.placed.push((ground, issue)),
                None => all.anywhere += usize::from(issue.permit.is_empty()),
            }
        }
        all.placed.sort_by(|a, b| a.0.min().x.total_cmp(&b.0.min().x));
        all.widest_m = all.placed.iter().map(|(ground, _)| ground.width()).fold(0.0, f64::max);
        all
    }

    /// Records near a site, or of its permit, each once in the order of files and rows; with the distance from its works where that is known.
    fn of(&self, site: &Site) -> BTreeMap<(u16, u64), (&'a Issue, Option<f64>)> {
        let mut found: BTreeMap<(u16, u64), (&Issue, Option<f64>)> = BTreeMap::new();
        let mut take = |issue: &'a Issue, distance_m: Option<f64>| {
            let known = found.entry((issue.source.file, issue.source.row)).or_insert((issue, distance_m));
            known.1 = known.1.into_iter().chain(distance_m).reduce(f64::min);
        };
        for issue in self.of_permit.get(site.of.permit.id.as_str()).into_iter().flatten() {
            take(issue, None);
        }
        for one in &site.works {
            let (low, high) = (one.window.low, one.window.high);
            let from = self.placed.partition_point(|(ground, _)| ground.min().x < low.x - NEAR_M - self.widest_m);
            let of_column = self.placed[from..].iter().take_while(|(ground, _)| ground.min().x <= high.x + NEAR_M);
            let in_box = of_column.filter(|(ground, _)| {
                let (least, most) = (ground.min(), ground.max());
                most.x >= low.x - NEAR_M && most.y >= low.y - NEAR_M && least.y <= high.y + NEAR_M
            });
            for (ground, issue) in in_box {
                let distance_m = apart_m(&one.work.shape, ground);
                if distance_m <= NEAR_M {
                    take(issue, Some(distance_m));
                }
            }
        }
        found
    }

    /// What the sheet says.
    pub fn near(&self, site: &Site, pages: &Pages) -> Near {
        let (words, amounts) = (&pages.words, pages.amounts);
        let say = |key: &str, values: &[(&str, &str)]| words.fill("sheet", key, values);
        let found = self.of(site);
        let mut near =
            Near { table: table(words, &["record", "record_place", "from_works", "remark"]), said: Vec::new() };
        for (issue, distance_m) in found.values().take(MOST_RECORDS) {
            let place = format!("{}:{}", visible(site.view.label(issue.source)), issue.source.row);
            let away = match distance_m {
                Some(distance_m) => amounts.length(*distance_m),
                None => words.get("sheet", "own_work").to_string(),
            };
            let detail = format!("{} ({})", visible(&issue.detail), issue.code);
            near.table.rows.push(vec![visible(&issue.id).into_owned(), place, away, detail]);
        }
        let within = amounts.length(NEAR_M);
        if found.is_empty() {
            near.said.push(say("near_none", &[("length", &within)]));
        } else if found.len() > MOST_RECORDS {
            near.said.push(say("near_more", &[("count", &(found.len() - MOST_RECORDS).to_string())]));
        }
        if self.anywhere > 0 {
            near.said.push(say("near_anywhere", &[("count", &super::amounts::grouped(&self.anywhere.to_string()))]));
        }
        near
    }
}

/// Between ground and what a record covers; 0 where they touch.
fn apart_m(shape: &MultiPolygon<f64>, ground: &Rect<f64>) -> f64 {
    if ground.width() > 0.0 || ground.height() > 0.0 {
        Euclidean.distance(shape, &ground.to_polygon())
    } else {
        Euclidean.distance(&Point(ground.min()), shape)
    }
}
