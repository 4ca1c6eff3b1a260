//! Labels and what they must not cover -> places for labels that do not collide.
//!
//! Greedy, in the order given: each label takes the first free place around its point, nearer ones first; where none is free, the free place
//! nearest to the point on the whole map, joined to it by a line. The same input gives the same places.

use super::map_frame::WIDTH;

/// A rectangle on paper, 0.01 mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// Left edge.
    pub x: i64,
    /// Upper edge.
    pub y: i64,
    /// Width.
    pub width: i64,
    /// Height.
    pub height: i64,
}

impl Block {
    /// Around a point.
    pub fn around((x, y): (i64, i64), width: i64, height: i64) -> Block {
        Block { x: x - width / 2, y: y - height / 2, width, height }
    }

    /// Whether two share ground.
    pub fn meets(&self, other: &Block) -> bool {
        self.x < other.x + other.width
            && other.x < self.x + self.width
            && self.y < other.y + other.height
            && other.y < self.y + self.height
    }

    /// Its middle.
    pub fn centre(&self) -> (i64, i64) {
        (self.x + self.width / 2, self.y + self.height / 2)
    }
}

/// The paper and what is taken on it.
pub struct Labels {
    height: i64,
    taken: Vec<Block>,
}

/// Space kept free around a label.
const APART: i64 = 40;
/// Directions around a point, the upper right first, in thousandths.
const DIRECTIONS: [(i64, i64); 16] = [
    (707, -707),
    (707, 707),
    (-707, -707),
    (-707, 707),
    (1000, 0),
    (-1000, 0),
    (0, -1000),
    (0, 1000),
    (924, -383),
    (924, 383),
    (-924, -383),
    (-924, 383),
    (383, -924),
    (-383, -924),
    (383, 924),
    (-383, 924),
];
/// How far out labels are tried, beyond the trunk.
const STEPS: [i64; 7] = [60, 300, 600, 1000, 1500, 2200, 3000];
/// Steps of the search over the whole map.
const GRID: i64 = 250;

impl Labels {
    /// A paper of this height with nothing on it.
    pub fn new(height: i64) -> Labels {
        Labels { height, taken: Vec::new() }
    }

    /// Keeps labels off a place.
    pub fn keep_free(&mut self, block: Block) {
        self.taken.push(block);
    }

    /// A place beside a point that keeps `clear` away from it; true with it where it is so far off that a line should lead there.
    pub fn beside(&mut self, point: (i64, i64), clear: i64, width: i64, height: i64) -> Option<(Block, bool)> {
        for (index, step) in STEPS.iter().enumerate() {
            for direction in DIRECTIONS {
                let block = beside(point, clear + step, direction, (width, height));
                if self.free(&block) {
                    self.taken.push(block);
                    return Some((block, index > 0));
                }
            }
        }
        self.anywhere(point, width, height).map(|block| (block, true))
    }

    /// A place right beside a point; `None` where all are taken.
    pub fn close(&mut self, point: (i64, i64), clear: i64, width: i64, height: i64) -> Option<Block> {
        let around =
            DIRECTIONS.into_iter().map(|direction| beside(point, clear + STEPS[0], direction, (width, height)));
        let block = around.into_iter().find(|block| self.free(block))?;
        self.taken.push(block);
        Some(block)
    }

    /// The first of the points where a label fits.
    pub fn on_one_of(
        &mut self,
        points: impl IntoIterator<Item = (i64, i64)>,
        width: i64,
        height: i64,
    ) -> Option<Block> {
        let block =
            points.into_iter().map(|point| Block::around(point, width, height)).find(|block| self.free(block))?;
        self.taken.push(block);
        Some(block)
    }

    fn anywhere(&mut self, point: (i64, i64), width: i64, height: i64) -> Option<Block> {
        let columns = (0..WIDTH / GRID).flat_map(|column| (0..self.height / GRID).map(move |row| (column, row)));
        let mut places: Vec<(i64, Block)> = columns
            .map(|(column, row)| {
                let block = Block { x: column * GRID, y: row * GRID, width, height };
                let (x, y) = block.centre();
                ((x - point.0).pow(2) + (y - point.1).pow(2), block)
            })
            .collect();
        places.sort_by_key(|(distance, block)| (*distance, block.x, block.y));
        let block = places.into_iter().map(|(_, block)| block).find(|block| self.free(block))?;
        self.taken.push(block);
        Some(block)
    }

    fn free(&self, block: &Block) -> bool {
        let inside = block.x >= APART
            && block.y >= APART
            && block.x + block.width <= WIDTH - APART
            && block.y + block.height <= self.height - APART;
        let room = Block {
            x: block.x - APART,
            y: block.y - APART,
            width: block.width + 2 * APART,
            height: block.height + 2 * APART,
        };
        inside && !self.taken.iter().any(|other| other.meets(&room))
    }
}

/// The place of a label so far from a point in a direction.
fn beside(point: (i64, i64), reach: i64, (east, south): (i64, i64), (width, height): (i64, i64)) -> Block {
    let x = point.0 + (reach * east + width / 2 * sign_or_zero(east)) / 1000;
    let y = point.1 + (reach * south + height / 2 * sign_or_zero(south)) / 1000;
    Block::around((x, y), width, height)
}

/// Half the label goes to the side that the direction leads to: 1000, 0 or -1000.
fn sign_or_zero(part: i64) -> i64 {
    if part.abs() < 350 { 0 } else { part.signum() * 1000 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_do_not_collide_and_stay_on_the_paper() {
        let mut labels = Labels::new(9_000);
        let mut placed = Vec::new();
        // 300 trees within 3 cm of paper.
        for n in 0..300 {
            let point = (8_000 + n * 37 % 3_000, 4_000 + n * 91 % 3_000);
            placed.extend(labels.beside(point, 50, 900, 420).map(|(block, _)| block));
        }
        assert!(placed.len() > 150, "{}", placed.len());
        for (index, block) in placed.iter().enumerate() {
            assert!(block.x >= 0 && block.y >= 0 && block.x + block.width <= WIDTH && block.y + block.height <= 9_000);
            assert!(placed[..index].iter().all(|other| !other.meets(block)));
        }
    }

    #[test]
    fn a_label_stands_beside_its_point_where_there_is_room() {
        let mut labels = Labels::new(9_000);
        let trunk = Block::around((9_000, 4_500), 200, 200);
        labels.keep_free(trunk);
        let (block, far) = labels.beside((9_000, 4_500), 100, 900, 420).unwrap();
        assert!(!far && block.x > 9_000 && !block.meets(&trunk), "{block:?}");
    }
}
