//! Whatever goes wrong, the output folder holds the old complete set or the new complete set; inputs stay as they are.
//!
//! `scripts/torture` runs the loops in full: every call that can fail, 200 kills.

#![allow(clippy::unwrap_used)]

use crate::faults::{Dice, Site, able, args, command, names, set_in, signal, strace_works, torture};
use std::collections::BTreeMap;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Calls by which a run can be hit, and with what. Names that a machine does not have are passed over.
const FAULTS: [(&str, &[&str]); 20] = [
    ("write", &["ENOSPC", "EIO"]),
    ("pwrite64", &["ENOSPC", "EIO"]),
    ("fsync", &["EIO", "ENOSPC"]),
    ("fdatasync", &["EIO"]),
    ("close", &["EIO"]),
    ("rename", &["EIO"]),
    ("renameat", &["EIO"]),
    ("renameat2", &["EIO", "ENOSPC"]),
    ("openat", &["ENOSPC", "EMFILE"]),
    ("mkdir", &["ENOSPC"]),
    ("mkdirat", &["ENOSPC"]),
    ("chmod", &["EIO"]),
    ("fchmodat", &["EIO"]),
    ("ftruncate", &["ENOSPC"]),
    ("unlink", &["EIO"]),
    ("rmdir", &["EIO"]),
    ("flock", &["ENOLCK"]),
    ("read", &["EIO"]),
    ("pread64", &["EIO"]),
    ("mmap", &["ENOMEM"]),
];

/// How often each call is made, and how many of them before the program itself begins (the loader's).
fn calls(site: &Site) -> BTreeMap<String, (usize, usize)> {
    let log = tempfile::NamedTempFile::new().unwrap();
    let names: Vec<String> = FAULTS.iter().map(|(call, _)| format!("?{call}")).collect();
    let trace = format!("trace={}", names.join(","));
    let output = site.run_behind(&["strace", "-f", "-qq", "-o", log.path().to_str().unwrap(), "-e", &trace]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = std::fs::read_to_string(log.path()).unwrap();
    let first_thread = text.split_whitespace().next().unwrap().to_string();
    let mut counts = BTreeMap::<String, (usize, usize)>::new();
    let mut begun = false;
    for line in text.lines() {
        let Some((thread, rest)) = line.split_once(' ') else { continue };
        let Some((call, _)) = rest.trim_start().split_once('(').filter(|_| thread == first_thread) else { continue };
        begun |= rest.contains("works.csv") || rest.contains("/.out.rootward-");
        let count = counts.entry(call.to_string()).or_default();
        count.0 += 1;
        count.1 += usize::from(!begun);
    }
    counts
}

/// All of 1 to `count`, or in a test a few of them, the last ones among them: there the set is put in place.
fn chosen(before: usize, count: usize, few: usize) -> Vec<usize> {
    let all: Vec<usize> = (before + 1..=count + 1).collect();
    if torture() || all.len() <= few {
        return all;
    }
    let last = few / 2;
    let step = ((all.len() - last) / (few - last)).max(1);
    let spread = all[..all.len() - last].iter().step_by(step).take(few - last);
    spread.chain(&all[all.len() - last..]).copied().collect()
}

#[test]
fn every_call_may_fail() {
    if !strace_works("faults in system calls") {
        return;
    }
    let site = Site::new();
    site.restore();
    let counts = calls(&site);
    assert!(counts.contains_key("write") && counts.contains_key("fsync"), "{counts:?}");
    site.restore();
    let (mut runs, mut failed, mut hit) = (0, 0, 0);
    for (call, errors) in FAULTS {
        let Some(&(count, before)) = counts.get(call) else { continue };
        let errors = if torture() { errors } else { &errors[..1] };
        for error in errors {
            for n in chosen(before, count, 5) {
                // A disk that is full stays full.
                let lasting = if *error == "ENOSPC" && n % 2 == 0 { "+" } else { "" };
                let inject = format!("inject={call}:error={error}:when={n}{lasting}");
                let output = site.run_behind(&["strace", "-f", "-qq", "-o", "/dev/null", "-e", &inject]);
                let told = String::from_utf8_lossy(&output.stderr);
                let is_new = site.old_or_new(output.status, &told, &inject);
                // Rust's own library panics where a folder that it has listed cannot be closed; nothing is in place by then.
                let listing = told.contains("unexpected error during closedir");
                if call != "mmap" && !listing {
                    assert!(matches!(output.status.code(), Some(0..=3)), "{inject}: {}: {told}", output.status);
                }
                runs += 1;
                failed += usize::from(!output.status.success());
                hit += usize::from(is_new);
                site.restore();
            }
        }
    }
    eprintln!("{runs} runs with a fault: {failed} failed and kept the old set, {hit} went on to the new one");
    assert!(failed * 4 > runs, "most faults must be noticed: {failed} of {runs}");
    site.the_next_run_cleans_up();
}

#[test]
fn killed_at_the_steps_that_count() {
    if !strace_works("kills at a system call") {
        return;
    }
    let site = Site::new();
    let counts = calls(&site);
    site.restore();
    for call in ["renameat2", "fsync", "unlink", "unlinkat", "mkdir", "chmod", "pwrite64"] {
        let Some(&(count, before)) = counts.get(call) else { continue };
        for n in chosen(before, count, 3).into_iter().filter(|n| *n <= count) {
            let inject = format!("inject={call}:signal=KILL:when={n}");
            let output = site.run_behind(&["strace", "-f", "-qq", "-o", "/dev/null", "-e", &inject]);
            assert!(!output.status.success(), "{inject}");
            site.old_or_new(output.status, "", &inject);
            site.restore();
        }
    }
    site.the_next_run_cleans_up();
}

#[test]
fn killed_at_random_moments() {
    let site = Site::new();
    let start = Instant::now();
    site.restore();
    assert!(command().args(args("out")).current_dir(site.folder.path()).output().unwrap().status.success());
    let whole = start.elapsed();
    site.restore();
    let mut dice = Dice(7);
    let kills = if torture() { 200 } else { 20 };
    let (mut killed, mut new) = (0, 0);
    for number in 0..kills {
        let wait = whole.mul_f64(dice.below(1200) as f64 / 1000.0);
        let name = ["KILL", "TERM", "INT"][number % 3];
        let mut child = command()
            .args(args("out"))
            .current_dir(site.folder.path())
            .stderr(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(wait);
        let sent =
            Command::new("sh").args(["-c", &format!("kill -{name} {}", child.id())]).stderr(Stdio::null()).status();
        let status = child.wait().unwrap();
        if sent.is_ok_and(|sent| sent.success()) && !status.success() {
            let expected = [9, 15, 2][number % 3];
            assert_eq!(signal(status), Some(expected), "{name}: {status}");
            killed += 1;
        }
        new += usize::from(site.old_or_new(status, "", &format!("{name} after {wait:?}")));
        site.restore();
    }
    eprintln!("{kills} kills: {killed} before the end; {new} left the new set, the others the old one");
    site.the_next_run_cleans_up();
}

#[test]
fn the_system_gives_too_little() {
    if !able("limits of files, memory and descriptors", "prlimit", &["--nofile=64", "true"]) {
        return;
    }
    let site = Site::new();
    site.restore();
    let mut limits: Vec<String> = [3, 4, 5, 8, 10, 12, 16].map(|n| format!("--nofile={n}")).to_vec();
    limits.extend([1_000, 4_096, 20_000, 60_000].map(|bytes| format!("--fsize={bytes}")));
    limits.extend([100, 200, 260, 300, 340, 400].map(|mb| format!("--as={}", mb << 20)));
    for limit in &limits {
        let output = site.run_behind(&["prlimit", limit]);
        site.old_or_new(output.status, &String::from_utf8_lossy(&output.stderr), limit);
        assert_ne!(output.status.code(), Some(101), "{limit}: {}", String::from_utf8_lossy(&output.stderr));
        site.restore();
        // With the signal ignored the write itself fails.
        let shell = format!("trap '' XFSZ; exec prlimit {limit} \"$0\" \"$@\"");
        let output = site.run_behind(&["sh", "-c", &shell]);
        let told = String::from_utf8_lossy(&output.stderr);
        site.old_or_new(output.status, &told, limit);
        assert_ne!(output.status.code(), Some(101), "{limit}: {told}");
        site.restore();
    }
    site.the_next_run_cleans_up();
}

#[test]
fn a_full_small_disk() {
    // A disk of its own, in a name space of its own: nothing to unmount.
    let unshare = ["-rm", "sh", "-c", "mount -t tmpfs -o size=64k none /mnt"];
    if !able("a small disk", "unshare", &unshare) {
        return;
    }
    let site = Site::new();
    site.restore();
    let run = args("/mnt/out").iter().map(|arg| format!("'{arg}'")).collect::<Vec<_>>().join(" ");
    for (size, fits) in [("32k", false), ("64k", false), ("128k", false), ("64m", true)] {
        let script = format!(
            "mount -t tmpfs -o size={size} none /mnt && cd '{}' && {{ '{}' {run}; echo ended $?; ls -A /mnt; }}",
            site.folder.path().display(),
            env!("CARGO_BIN_EXE_rootward"),
        );
        let output = Command::new("unshare").args(["-rm", "sh", "-c", &script]).output().unwrap();
        let (said, told) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        let end = said.split("ended ").nth(1).unwrap_or_else(|| panic!("{size}: {said}{told}"));
        let expected = if fits { "0\nout\n" } else { "1\n" };
        assert_eq!(end, expected, "{size}: {told}");
        assert!(
            fits || told.contains("No space left on device") || told.contains("a disk with room"),
            "{size}: {told}"
        );
    }
}

#[test]
fn nobody_reads_what_is_said() {
    // A full disk behind stderr or stdout is no reason to stop, nor to panic.
    let site = Site::new();
    site.restore();
    for redirect in ["2>/dev/full", ">/dev/full", ">/dev/full 2>&1", "2>&-", ">&-", ">&- 2>&-"] {
        let output = site.run_behind(&["sh", "-c", &format!("exec \"$0\" \"$@\" {redirect}")]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{redirect}: {told}");
        assert!(site.old_or_new(output.status, &told, redirect));
        site.restore();
    }
}

#[test]
fn the_second_of_two_runs_says_who_holds_the_folder() {
    if !strace_works("two runs at once") {
        return;
    }
    let site = Site::new();
    site.restore();
    let mut first = Command::new("strace")
        .args(["-f", "-qq", "-o", "/dev/null", "-e", "inject=fsync:delay_enter=300000"])
        .arg(env!("CARGO_BIN_EXE_rootward"))
        .args(args("out"))
        .current_dir(site.folder.path())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let lock = site.path(".out.rootward-lock");
    let start = Instant::now();
    let holder = loop {
        assert!(start.elapsed() < Duration::from_secs(60), "the first run takes no lock");
        match std::fs::read_to_string(&lock) {
            Ok(number) if !number.is_empty() => break number,
            _ => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    let second = command().args(args("out")).current_dir(site.folder.path()).output().unwrap();
    let told = String::from_utf8_lossy(&second.stderr).into_owned();
    assert_eq!(second.status.code(), Some(1), "{told}");
    assert!(told.contains(&format!("another run is writing into this folder (process {holder})")), "{told}");
    assert!(first.wait().unwrap().success());
    assert_eq!(set_in(&site.path("out")), site.new);
    assert_eq!(names(site.folder.path()), ["new", "out", "trees.csv", "works.csv"]);
}

#[test]
fn an_input_that_changes_during_the_run_is_detected() {
    if !strace_works("an input that changes during the run") {
        return;
    }
    let site = Site::new();
    let log = tempfile::NamedTempFile::new().unwrap();
    let count = |part: &str| {
        let text = std::fs::read_to_string(log.path()).unwrap();
        let calls: Vec<&str> = text.lines().filter(|line| line.contains("mkdir")).collect();
        calls.iter().position(|line| line.contains(part)).unwrap() + 1
    };
    site.run_behind(&["strace", "-f", "-qq", "-o", log.path().to_str().unwrap(), "-e", "trace=?mkdir,?mkdirat"]);
    // The folder of the tables is made when all has been read and before the set is put in place.
    let n = count("/tables");
    site.restore();
    let inject = format!("inject=?mkdir,?mkdirat:delay_enter=100000:when={n}+");
    for (name, bytes) in [("trees.csv", "id,x,y,dbh_cm,species\nT,1000,1000,20,Quercus robur\n"), ("works.csv", "gone")]
    {
        let path = site.path(name);
        let before = std::fs::read(&path).unwrap();
        let run = Command::new("strace")
            .args(["-f", "-qq", "-o", "/dev/null", "-e", &inject])
            .arg(env!("CARGO_BIN_EXE_rootward"))
            .args(args("out"))
            .current_dir(site.folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let start = Instant::now();
        let made = || {
            let staged = names(site.folder.path()).into_iter().filter(|name| name.starts_with(".out.rootward-"));
            staged.into_iter().any(|name| site.path(&name).join("tables").exists())
        };
        while !made() {
            assert!(start.elapsed() < Duration::from_secs(60));
            std::thread::sleep(Duration::from_millis(5));
        }
        std::fs::write(&path, bytes).unwrap();
        let output = run.wait_with_output().unwrap();
        std::fs::write(&path, before).unwrap();
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{told}");
        assert!(told.contains(&format!("{name}: the file changed while it was being read")), "{told}");
        assert!(!site.old_or_new(output.status, &told, name));
    }
}

#[test]
fn inputs_on_a_disk_that_cannot_be_written_stay_as_they_are() {
    let site = Site::new();
    let script = "mount --bind \"$1\" \"$1\" && mount -o remount,ro,bind \"$1\"";
    let probe = tempfile::tempdir().unwrap();
    if !able(
        "inputs on a read-only disk",
        "unshare",
        &["-rm", "sh", "-c", script, "sh", probe.path().to_str().unwrap()],
    ) {
        return;
    }
    let before = set_in(site.folder.path());
    let out = tempfile::tempdir().unwrap();
    let run = |out: &str| {
        let mut command = Command::new("unshare");
        let whole = format!("{script}; cd \"$1\" && shift && exec \"$0\" \"$@\"");
        command.args(["-rm", "sh", "-c", &whole, env!("CARGO_BIN_EXE_rootward"), site.folder.path().to_str().unwrap()]);
        command.args(args(out)).output().unwrap()
    };
    let output = run(out.path().join("out").to_str().unwrap());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(set_in(&out.path().join("out")), site.new, "the folder of the inputs decides nothing");
    // And an output folder that cannot be written is said at once.
    let output = run("out");
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("hint: ") && told.contains("--out") && told.contains("Read-only file system"), "{told}");
    assert_eq!(set_in(site.folder.path()), before);
}
