//! A run of the built command under faults: a small site with an old set in place, and what may be there afterwards.
//!
//! Needs `strace` for most of it; tests that do without say so. With `ROOTWARD_TORTURE` set (see `scripts/torture`) loops run in full.
#![allow(dead_code, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::os::unix::process::ExitStatusExt;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitStatus, Output};

const PLANE: &str = "+proj=laea +lat_0=50 +lon_0=15 +datum=WGS84 +units=m +no_defs";
const TREES: &str = "id,x,y,dbh_cm,species\nT,1000,1000,80,Quercus robur\nU,1002,1010,30,Tilia cordata\n";
const MORE_TREES: &str = "V,998,1012,110,Fagus sylvatica\nW,999,996,,Acer campestre\n";
const WORKS: &str = "permit_id,kind,wkt\n\
    P,building,\"POLYGON ((1005 991, 1009 991, 1009 1009, 1005 1009, 1005 991))\"\n\
    Q,trench,\"LINESTRING (990 1004, 1010 1004)\"\n";

/// Every file of a set with its bytes.
pub type Set = BTreeMap<String, Vec<u8>>;

/// Whether the long loops were asked for.
pub fn torture() -> bool {
    std::env::var_os("ROOTWARD_TORTURE").is_some()
}

/// Whether a program is there and does what is asked of it; else a line that says what is skipped.
pub fn able(what: &str, program: &str, args: &[&str]) -> bool {
    let able = Command::new(program).args(args).output().is_ok_and(|output| output.status.success());
    if !able {
        eprintln!("skipped: {what}: `{program} {}` does not work here", args.join(" "));
    }
    able
}

/// Whether `strace` can be used.
pub fn strace_works(what: &str) -> bool {
    able(what, "strace", &["-f", "-o", "/dev/null", "-e", "trace=none", "true"])
}

/// A folder with inputs and, in `out`, an old set; what a run makes of them is known.
pub struct Site {
    pub folder: tempfile::TempDir,
    pub old: Set,
    pub new: Set,
}

impl Site {
    /// Two trees give the old set; two more are there for the new one.
    pub fn new() -> Site {
        let folder = tempfile::tempdir().unwrap();
        let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).unwrap();
        write("works.csv", WORKS);
        write("trees.csv", &format!("{TREES}{MORE_TREES}"));
        let run = |out: &str| {
            let output = command().args(args(out)).current_dir(folder.path()).output().unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        };
        run("new");
        write("trees.csv", TREES);
        run("out");
        write("trees.csv", &format!("{TREES}{MORE_TREES}"));
        let (old, new) = (set_in(&folder.path().join("out")), set_in(&folder.path().join("new")));
        assert!(old != new && old.len() > 8, "{:?}", old.keys());
        hashes_are_right(&old);
        hashes_are_right(&new);
        Site { folder, old, new }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The output folder as it was before.
    pub fn restore(&self) {
        let out = self.path("out");
        if set_in(&out) == self.old {
            return;
        }
        std::fs::remove_dir_all(&out).unwrap();
        for (name, bytes) in &self.old {
            let path = out.join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, bytes).unwrap();
        }
    }

    /// Runs the command behind another that takes a command (`strace ...`, `prlimit ...`).
    pub fn run_behind(&self, before: &[&str]) -> Output {
        let mut command = Command::new(before[0]);
        command.args(&before[1..]).arg(env!("CARGO_BIN_EXE_rootward")).args(args("out")).env("NO_COLOR", "1");
        command.current_dir(self.folder.path()).output().unwrap()
    }

    /// The old set or the new one; which one goes with the way the run ended. True for the new one.
    #[track_caller]
    pub fn old_or_new(&self, status: ExitStatus, told: &str, how: &str) -> bool {
        let now = set_in(&self.path("out"));
        let is_new = now == self.new;
        assert!(is_new || now == self.old, "{how}: a mixture of {:?} after {status}: {told}", now.keys());
        match status.code() {
            Some(0 | 3) => assert!(is_new, "{how}: ended with {status} and the old set is in place: {told}"),
            Some(1 | 2) => assert!(!is_new, "{how}: ended with {status} and the new set is in place: {told}"),
            _ => {}
        }
        for name in names(self.folder.path()) {
            let known = ["works.csv", "trees.csv", "new", "out"].contains(&name.as_str());
            assert!(known || name.starts_with(".out.rootward-"), "{how}: left behind: {name}");
        }
        is_new
    }

    /// One more run cleans up what the others left.
    #[track_caller]
    pub fn the_next_run_cleans_up(&self) {
        let output = command().args(args("out")).current_dir(self.folder.path()).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        assert_eq!(set_in(&self.path("out")), self.new);
        assert_eq!(names(self.folder.path()), ["new", "out", "trees.csv", "works.csv"]);
    }
}

/// The built command.
pub fn command() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_rootward"));
    command.env("NO_COLOR", "1");
    command
}

/// A run that writes every kind of file, on one thread so that calls can be counted.
pub fn args(out: &str) -> Vec<&str> {
    let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch"];
    args.extend(["--trees-crs", PLANE, "--works-crs", PLANE, "--threads", "1", "--geopackage", "--out", out]);
    args.extend(["--protect", "--start", "2027-04-01", "--end", "2027-10-31"]);
    args
}

/// Names in a folder, sorted.
pub fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into()).collect();
    names.sort();
    names
}

/// Every file below a folder; empty where there is none.
pub fn set_in(folder: &Path) -> Set {
    let mut found = Set::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(next) = waiting.pop() {
        for entry in std::fs::read_dir(&next).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                found.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// `run.json` lists every other file with its SHA-256.
#[track_caller]
pub fn hashes_are_right(set: &Set) {
    use sha2::{Digest, Sha256};
    let run: serde_json::Value = serde_json::from_slice(&set["run.json"]).unwrap();
    let listed = run["files"].as_array().unwrap();
    assert_eq!(listed.len() + 1, set.len());
    for file in listed {
        let bytes = &set[file["name"].as_str().unwrap()];
        let sha256: String = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(file["sha256"], sha256, "{file}");
    }
}

/// The signal that ended a command, also where `strace` or a shell passed it on as an exit code.
pub fn signal(status: ExitStatus) -> Option<i32> {
    status.signal().or(status.code().filter(|code| *code > 128).map(|code| code - 128))
}

/// A row of numbers that look random and are the same each time.
pub struct Dice(pub u64);

impl Dice {
    /// Numerical Recipes' constants of a linear congruential generator (from memory); the upper bits.
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % bound.max(1)
    }
}
