//! Finds long work on the window's thread: work that may take longer than a frame has says so when it begins, and debug
//! builds count what of it begins while a frame is being made. Release builds do nothing here.

/// The thread makes a frame as long as this lives: long work on it is counted.
#[derive(Debug)]
#[must_use = "it counts as long as it lives"]
pub struct Framing {
    #[cfg(debug_assertions)]
    before: Where,
}

/// Says that work begins that may take longer than 4 ms.
pub fn begins(what: &'static str) {
    #[cfg(debug_assertions)]
    here::note(what);
    #[cfg(not(debug_assertions))]
    let _ = what;
}

/// The thread makes a frame from now on.
pub fn framing() -> Framing {
    Framing {
        #[cfg(debug_assertions)]
        before: here::turn_to(Where::Frame),
    }
}

/// What is run from now on counts as being run beside the window, though it is on its thread: a window without other
/// threads does all its jobs so.
pub fn beside() -> Framing {
    Framing {
        #[cfg(debug_assertions)]
        before: here::turn_to(Where::Beside),
    }
}

/// What long work was begun on this thread while it made a frame, in the order in which it came.
#[cfg(debug_assertions)]
pub fn found() -> Vec<&'static str> {
    here::found()
}

#[cfg(debug_assertions)]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Where {
    Frame,
    Beside,
}

#[cfg(debug_assertions)]
impl Drop for Framing {
    fn drop(&mut self) {
        let _now = here::turn_to(self.before);
    }
}

#[cfg(debug_assertions)]
mod here {
    use super::Where;
    use std::cell::{Cell, RefCell};

    thread_local! {
        static PLACE: Cell<Where> = const { Cell::new(Where::Beside) };
        static FOUND: RefCell<Vec<&'static str>> = const { RefCell::new(Vec::new()) };
    }

    pub(super) fn turn_to(place: Where) -> Where {
        PLACE.replace(place)
    }

    pub(super) fn note(what: &'static str) {
        if PLACE.get() == Where::Frame {
            FOUND.with_borrow_mut(|found| found.push(what));
        }
    }

    pub(super) fn found() -> Vec<&'static str> {
        FOUND.with_borrow(Clone::clone)
    }
}

#[cfg(all(test, debug_assertions))]
mod tests {
    use super::*;

    #[test]
    fn only_what_begins_within_a_frame_counts() {
        begins("before");
        let frame = framing();
        begins("within");
        {
            let _beside = beside();
            begins("beside");
        }
        begins("within again");
        std::thread::spawn(|| begins("on another thread")).join().expect("it ends");
        drop(frame);
        begins("after");
        assert_eq!(found(), ["within", "within again"]);
    }
}
