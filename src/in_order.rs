//! Items worked on by all threads, and what came of them handed on in the items' order: the same for any number of threads.

use crate::error::Result;
use rayon::prelude::*;

/// Works on the items, so many `at_once`: while all threads work on these, the calling thread hands on what came of as many before
/// them and fetches as many after them, then works with the others. `work` must depend on its item alone.
///
/// # Errors
/// The first error of `put`; else that of an item, and what came of the items before it was handed on, but for those that were fetched with it.
pub fn in_order<T: Send, E: Send>(
    mut items: impl Iterator<Item = Result<T>>,
    at_once: usize,
    work: impl Fn(T) -> E + Sync,
    mut put: impl FnMut(E) -> Result<()>,
) -> Result<()> {
    // An item is work enough for a job: a thread that took several would let the others wait for it at the end.
    let all_of = |batch: Vec<T>| batch.into_par_iter().with_max_len(1).map(&work).collect::<Vec<E>>();
    let mut next = || items.by_ref().take(at_once).collect::<Result<Vec<T>>>();
    let mut batch = next()?;
    if batch.len() < at_once {
        // All there is: a single item stays on this thread, which may have made ready what it takes.
        return all_of(batch).into_iter().try_for_each(put);
    }
    let mut done = Vec::new();
    while !(batch.is_empty() && done.is_empty()) {
        let mut worked = Vec::new();
        let fetched = rayon::in_place_scope(|scope| -> Result<_> {
            scope.spawn(|_| worked = all_of(batch));
            done.into_iter().try_for_each(&mut put)?;
            Ok(next())
        })?;
        match fetched {
            Ok(after) => (batch, done) = (after, worked),
            Err(error) => return worked.into_iter().try_for_each(put).and(Err(error)),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Error;
    use std::sync::Mutex;
    use std::sync::atomic::{AtomicUsize, Ordering};

    fn failed(what: impl Into<String>) -> Error {
        Error::input("items", what, "")
    }

    fn on_threads<R: Send>(threads: usize, run: impl FnOnce() -> R + Send) -> R {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(run)
    }

    #[test]
    fn every_item_is_handed_on_once_and_in_order() {
        for threads in [1, 2, 3] {
            for (items, at_once) in [(0, 4), (1, 4), (4, 4), (5, 4), (100, 7), (100, 1000)] {
                let mut out = Vec::new();
                let put = |n| {
                    out.push(n);
                    Ok(())
                };
                on_threads(threads, || in_order((0..items).map(Ok), at_once, |n| n * 2, put)).unwrap();
                assert_eq!(
                    out,
                    (0..items).map(|n| n * 2).collect::<Vec<i32>>(),
                    "{threads} threads, {items} by {at_once}"
                );
            }
        }
    }

    #[test]
    fn few_items_are_held_at_once() {
        let (fetched, put) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let most = Mutex::new(0);
        let items = (0..1000).map(|n| {
            let held = fetched.fetch_add(1, Ordering::SeqCst) + 1 - put.load(Ordering::SeqCst);
            let mut most = most.lock().unwrap();
            *most = held.max(*most);
            Ok(n)
        });
        let handed_on = |_| {
            put.fetch_add(1, Ordering::SeqCst);
            Ok(())
        };
        on_threads(2, || in_order(items, 10, |n: i32| n, handed_on)).unwrap();
        assert_eq!(*most.lock().unwrap(), 20, "those that are worked on, and the next");
    }

    #[test]
    fn the_first_error_ends_it() {
        let items = |bad: usize| (0..100).map(move |n| if n == bad { Err(failed("item")) } else { Ok(n) });
        let put_until = |bad: usize| move |n: usize| if n == bad { Err(failed("put")) } else { Ok(()) };
        let said = |result: Result<()>| result.unwrap_err().to_string();
        assert!(said(in_order(items(0), 10, |n| n, put_until(100))).contains("item"));
        assert!(said(in_order(items(55), 10, |n| n, put_until(100))).contains("item"));
        assert!(said(in_order(items(100), 10, |n| n, put_until(99))).contains("put"));
        assert!(said(in_order(items(95), 10, |n| n, put_until(3))).contains("put"));
        assert!(said(in_order(items(15), 10, |n| n, put_until(3))).contains("put"), "though both were met at once");
    }
}
