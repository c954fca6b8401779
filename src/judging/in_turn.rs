//! Tasks done at the same time, with one step of each done in their order.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use rayon::prelude::*;

/// Whose turn it is, by number, and what the steps in order work on.
struct Turn<'s, State> {
    number: usize,
    state: &'s mut State,
    /// A task broke off, so that its turn never ends: nobody waits any longer.
    broken: bool,
}

/// Begins tasks at the same time, takes each through the step that needs the order, and finishes them at the same time.
/// No more of them are under way than there are threads. What comes out has the order of the tasks.
pub(super) fn in_turn<Task: Send, Begun, State: Send, Done: Send>(
    tasks: Vec<Task>,
    state: &mut State,
    begin: impl Fn(Task) -> Begun + Sync,
    in_order: impl Fn(&mut State, &mut Begun) + Sync,
    finish: impl Fn(Begun) -> Done + Sync,
) -> Vec<Done> {
    let waiting = Mutex::new(tasks.into_iter().enumerate());
    let (turn, turned) = (Mutex::new(Turn { number: 0, state, broken: false }), Condvar::new());
    // Tasks are taken in their order, so the one whose turn it is has been begun: the others wait only until it is read.
    let work = |_| {
        let next = || locked(&waiting).next();
        let whole = |(number, task)| {
            let on_break = BreaksTurn { turn: &turn, turned: &turned };
            let mut begun = begin(task);
            let mut now = locked(&turn);
            while now.number != number && !now.broken {
                now = turned.wait(now).unwrap_or_else(PoisonError::into_inner);
            }
            in_order(now.state, &mut begun);
            now.number += 1;
            drop(now);
            turned.notify_all();
            std::mem::forget(on_break);
            (number, finish(begun))
        };
        std::iter::from_fn(next).map(whole).collect::<Vec<(usize, Done)>>()
    };
    let threads = rayon::current_num_threads();
    let mut done: Vec<(usize, Done)> = (0..threads).into_par_iter().flat_map_iter(work).collect();
    done.sort_by_key(|(number, _)| *number);
    done.into_iter().map(|(_, done)| done).collect()
}

fn locked<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Dropped where a task broke off before its turn was over.
struct BreaksTurn<'t, 's, State> {
    turn: &'t Mutex<Turn<'s, State>>,
    turned: &'t Condvar,
}

impl<State> Drop for BreaksTurn<'_, '_, State> {
    fn drop(&mut self) {
        locked(self.turn).broken = true;
        self.turned.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sees_what_those_before_it_left_and_all_come_out_in_order() {
        let mut before = Vec::new();
        let take = |before: &mut Vec<usize>, (task, seen): &mut (usize, usize)| {
            *seen = before.len();
            before.push(*task);
        };
        let slow_first = |task: usize| {
            if task.is_multiple_of(7) {
                std::thread::yield_now();
            }
            (task, 0)
        };
        let out = in_turn((0..500).collect(), &mut before, slow_first, take, |begun| begun);
        assert_eq!(out, (0..500).map(|it| (it, it)).collect::<Vec<_>>());
        assert_eq!(before, (0..500).collect::<Vec<_>>());
    }

    #[test]
    fn a_task_that_breaks_off_holds_nobody_up() {
        let begin = |task: usize| {
            assert_ne!(task, 3, "broke off");
            task
        };
        let run = || in_turn((0..50).collect(), &mut (), begin, |(), _| {}, |task| task);
        let why = std::panic::catch_unwind(std::panic::AssertUnwindSafe(run)).expect_err("one broke off");
        assert!(why.downcast_ref::<String>().is_some_and(|text| text.contains("broke off")));
    }
}
