//! Rows that several hold.

use std::fmt::{self, Debug, Formatter};
use std::ops::{Deref, DerefMut};
use std::sync::Arc;

/// A row that several hold, so that a copy of it costs nothing. Whoever changes it has one of its own from then on.
#[derive(Default, PartialEq)]
pub struct Shared<T>(Arc<T>);

impl<T> From<T> for Shared<T> {
    fn from(row: T) -> Self {
        Self(Arc::new(row))
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        Self(Arc::clone(&self.0))
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.0
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        Arc::make_mut(&mut self.0)
    }
}

impl<T: Debug> Debug for Shared<T> {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
        self.0.fmt(formatter)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_is_nobody_elses() {
        let mut one = Shared::from(vec![1]);
        let other = one.clone();
        one.push(2);
        assert_eq!((&*one, &*other), (&vec![1, 2], &vec![1]));
    }
}
