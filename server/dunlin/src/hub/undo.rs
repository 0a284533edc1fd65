//! What can be taken back, and how.

use std::{
    collections::BTreeMap,
    sync::{Mutex, PoisonError},
};

use dunlin_engine::input::Command;

use super::{limits::UNDO_MAX, wire::AccessRole};

/// How one action is taken back.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Undo {
    /// Who may take it back: whoever might have done it. `None`: anyone who may act.
    pub needs: Option<AccessRole>,
    /// What the engine is told.
    pub commands: Vec<Command>,
    /// Entries of the day's papers to be taken back.
    pub entries: Vec<i64>,
    /// What was done, for the log: "capsized marked on 07".
    pub what: String,
}

#[derive(Debug, Default)]
struct Kept {
    last: u32,
    by_handle: BTreeMap<u32, Undo>,
}

/// All that can still be taken back.
#[derive(Debug, Default)]
pub struct Undos(Mutex<Kept>);

impl Undos {
    /// Keeps one; gives its handle. `None` when there is nothing to take back.
    pub fn keep(&self, undo: Undo) -> Option<u32> {
        if undo.commands.is_empty() && undo.entries.is_empty() {
            return None;
        }
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.last = kept.last.checked_add(1)?;
        let handle = kept.last;
        kept.by_handle.insert(handle, undo);
        if kept.by_handle.len() > UNDO_MAX {
            kept.by_handle.pop_first();
        }
        Some(handle)
    }

    /// Takes one out; each can be used once.
    pub fn take(&self, handle: u32) -> Option<Undo> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).by_handle.remove(&handle)
    }

    /// Puts one back that could not be carried out now, under the same handle.
    pub fn put_back(&self, handle: u32, undo: Undo) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).by_handle.insert(handle, undo);
    }
}
