//! Kind of the page, its check code, and how far it is signed. Nothing here is a digital signature.

use jiff::civil::Date;
use sha2::{Digest, Sha256};

use super::view::View;
use crate::record::{Cells, Shown};

/// What the page is a summary of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The stay: no visit is counted yet.
    Discharge,
    /// The stay and the visits after it.
    FollowUp,
}

impl Kind {
    /// The word of documents.csv.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Discharge => "discharge",
            Self::FollowUp => "follow-up",
        }
    }
}

/// How far the page is signed, as far as the source table says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum State {
    /// No signature is recorded.
    Draft,
    /// A signature is recorded, but not of this check code.
    RecordedAsSigned,
    /// The recorded check code is this page's.
    Signed,
    /// Something is dated after the signature, or the page has become one of the other kind.
    ChangedSince,
}

impl State {
    /// The word of documents.csv.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::RecordedAsSigned => "recorded as signed",
            Self::Signed => "signed",
            Self::ChangedSince => "draft, changed since",
        }
    }

    /// What the page prints.
    pub(super) const fn title(self) -> &'static str {
        match self {
            Self::Draft => "DRAFT",
            Self::RecordedAsSigned => "Recorded as signed",
            Self::Signed => "Signed",
            Self::ChangedSince => "DRAFT, changed since",
        }
    }
}

/// Letters and figures that are not taken for each other (no I, L, O, U, 0, 1).
const ALPHABET: &[u8; 30] = b"23456789ABCDEFGHJKMNPQRSTVWXYZ";

/// Eight characters from the SHA-256 of the page's contents: `7F3A-91C2`.
pub(super) fn check_code(texts: &[String]) -> String {
    let mut hash = Sha256::new();
    for text in texts {
        hash.update(text.as_bytes());
        hash.update([0]);
    }
    let mut number = u64::from_be_bytes(
        hash.finalize()[..8]
            .try_into()
            .expect("a hash has 32 bytes"),
    );
    let mut code = String::with_capacity(9);
    for position in 0..8 {
        if position == 4 {
            code.push('-');
        }
        code.push(char::from(
            ALPHABET[(number % ALPHABET.len() as u64) as usize],
        ));
        number /= ALPHABET.len() as u64;
    }
    code
}

/// Whether two check codes are the same, whatever the case and the hyphen.
pub(super) fn same_code(one: &str, other: &str) -> bool {
    let bare = |code: &str| -> String {
        code.chars()
            .filter(char::is_ascii_alphanumeric)
            .map(|letter| letter.to_ascii_uppercase())
            .collect()
    };
    let (one, other) = (bare(one), bare(other));
    !one.is_empty() && one == other
}

/// Kind by content: a page with a counted visit is one of the follow-up.
pub(super) fn kind(view: &View<'_>) -> Kind {
    if view.known.visits.is_empty() {
        Kind::Discharge
    } else {
        Kind::FollowUp
    }
}

/// How far the page is signed.
pub(super) fn state(view: &View<'_>, kind: Kind, check_code: &str) -> State {
    let cells = &view.record.cells;
    if cells.signed_by.is_none() {
        return State::Draft;
    }
    if let Some(signed_on) = view.cells.signed_on {
        let kind_then = if view
            .known
            .visits
            .iter()
            .any(|visit| visit.date <= signed_on)
        {
            Kind::FollowUp
        } else {
            Kind::Discharge
        };
        if latest_dated_cell(view).is_some_and(|latest| latest > signed_on) || kind_then != kind {
            return State::ChangedSince;
        }
    }
    match &cells.signed_hash {
        Some(signed) if same_code(signed, check_code) => State::Signed,
        _ => State::RecordedAsSigned,
    }
}

/// The latest date among the cells and the counted visits; dates that are plans do not count.
fn latest_dated_cell(view: &View<'_>) -> Option<Date> {
    const PLANS: [&str; 3] = ["antithrombotic_until", "next_booked_date", "signed_on"];
    let of_case = crate::record::CaseCells::FIELDS
        .iter()
        .filter(|field| !PLANS.contains(&field.name))
        .filter_map(|field| match (field.get)(view.cells) {
            Some(Shown::Date(date)) => Some(date),
            _ => None,
        });
    let of_visits = view.known.visits.iter().map(|visit| visit.date);
    of_case.chain(of_visits).max()
}

/// The latest date that the page uses.
pub(super) fn data_to(view: &View<'_>) -> Date {
    latest_dated_cell(view).map_or(view.known.data_to(), |latest| {
        latest.max(view.known.data_to())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_has_eight_characters_that_are_not_taken_for_each_other() {
        let code = check_code(&["a".to_owned(), "b".to_owned()]);
        assert_eq!(code.len(), 9);
        assert_eq!(code.as_bytes()[4], b'-');
        assert!(!code.contains(['I', 'L', 'O', 'U', '0', '1']));
        assert_ne!(code, check_code(&["ab".to_owned()]));
        assert!(same_code(&code.replace('-', "").to_lowercase(), &code));
        assert!(!same_code("", ""));
    }
}
