//! The blocks of a page laid out for its columns.

use super::contents::Contents;
use super::who::Badge;
use crate::draw::Fonts;
use crate::page::grid::Grid;
use crate::page::text::{Block, Laid, Paragraph};

/// The two halves of the answer laid out, with the changes since the last visit below the shorter one.
pub(super) struct Answer<'c> {
    pub changed: Laid<'c>,
    pub attention: Laid<'c>,
    pub since_below_attention: bool,
}

impl<'c> Answer<'c> {
    pub fn of(contents: &'c Contents, half_mm: f64, fonts: &Fonts) -> Self {
        let mut changed = contents.changed.laid_parts(fonts, half_mm);
        let mut attention = contents.attention.laid_parts(fonts, half_mm);
        let since_below_attention = attention.height_mm() < changed.height_mm();
        if let Some(since) = &contents.since {
            let (gap_mm, shorter) = if since_below_attention {
                (1.2, &mut attention)
            } else {
                (0.6, &mut changed)
            };
            shorter.0.push((gap_mm, since.laid(fonts, half_mm)));
        }
        Self {
            changed: changed.into(),
            attention: attention.into(),
            since_below_attention,
        }
    }
}

/// Contents laid out: each text is broken into lines once, for its height and for drawing it.
pub(super) struct LaidOut<'c> {
    pub who: Laid<'c>,
    pub answer: Answer<'c>,
    pub captions: [Laid<'c>; 2],
    pub evidence: [Laid<'c>; 3],
    pub verdicts: Laid<'c>,
    pub limits: Laid<'c>,
    pub plan: Laid<'c>,
    pub signature: Laid<'c>,
    pub print: [Laid<'c>; 2],
}

impl<'c> LaidOut<'c> {
    pub fn of(
        contents: &'c Contents,
        answer: Answer<'c>,
        provenance: &'c Paragraph,
        badge: &'c Badge,
        grid: Grid,
        fonts: &Fonts,
    ) -> Self {
        let whole = grid.inside().width_mm;
        let (_, half) = grid.column(0, 2);
        let (_, third) = grid.column(0, 3);
        Self {
            who: contents.who.laid(fonts, whole, badge),
            answer,
            captions: [&contents.gradient.2, &contents.ruler.2]
                .map(|caption| caption.laid(fonts, half)),
            evidence: contents
                .evidence
                .each_ref()
                .map(|table| table.laid(fonts, third)),
            verdicts: contents.verdicts.laid(fonts, half),
            limits: contents.limits.laid(fonts, half),
            plan: contents.plan.laid(fonts, whole),
            signature: contents.signature.laid(fonts, whole),
            print: [&contents.caution, provenance].map(|print| print.laid(fonts, whole)),
        }
    }
}
