//! What a page says, block by block, in so much detail.

use super::findings::Finding;
use super::foot::{self, Signature};
use super::ladder::Detail;
use super::laid_out::Answer;
use super::view::View;
use super::who::Who;
use super::{answer, charts, evidence, judged, plan, since};
use crate::figure::{gradient, ruler};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Block, Heading, Paragraph, Rich, Stack};
use crate::page::theme;

/// The contents of a page in so much detail.
pub(super) struct Contents {
    pub who: Who,
    pub changed: Stack<'static>,
    pub attention: Stack<'static>,
    /// Stands below the shorter of the two.
    pub since: Option<Paragraph>,
    pub gradient: (gradient::GradientChart, String, Paragraph),
    pub ruler: (ruler::Ruler, String, Paragraph),
    pub evidence: [Stack<'static>; 3],
    pub verdicts: Stack<'static>,
    pub limits: Stack<'static>,
    pub plan: Stack<'static>,
    pub signature: Signature,
    pub caution: Paragraph,
}

impl Contents {
    pub fn new(view: &View<'_>, found: &[Finding], detail: &Detail) -> Self {
        let chart = charts::gradient(view);
        let chart_alt = charts::gradient_alt(view, &chart);
        let chart_caption = Paragraph::small(charts::gradient_caption(view, &chart, detail));
        let sizes = charts::ruler(view, detail);
        let sizes_alt = charts::ruler_alt(&sizes);
        let sizes_caption = Paragraph::small(charts::ruler_caption(view));
        Self {
            who: Who::new(view, detail),
            changed: answer::changed(view, detail),
            attention: answer::attention(found, detail),
            since: since::changes(view, detail),
            gradient: (chart, chart_alt, chart_caption),
            ruler: (sizes, sizes_alt, sizes_caption),
            evidence: evidence::tables(view, detail),
            verdicts: judged::verdicts(view, detail),
            limits: judged::limits_and_gaps(view, detail),
            plan: plan_block(view, detail),
            signature: Signature::new(view),
            caution: Paragraph {
                colour: theme::QUIET,
                ..Paragraph::small(foot::CAUTION)
            },
        }
    }

    /// Everything that is signed: the contents without state, signature state, check code and where files lie.
    pub fn texts(&self, answer: &Answer<'_>) -> Vec<String> {
        let mut texts: Vec<String> = Vec::new();
        let mut see = |text: &str| texts.push(text.to_owned());
        self.who.texts(&mut see);
        for (half, is_attention) in [(&self.changed, false), (&self.attention, true)] {
            half.texts(&mut see);
            if let Some(since) = &self.since
                && answer.since_below_attention == is_attention
            {
                since.texts(&mut see);
            }
        }
        see(&self.gradient.1);
        self.gradient.2.texts(&mut see);
        see(&self.ruler.1);
        self.ruler.2.texts(&mut see);
        for table in &self.evidence {
            table.texts(&mut see);
        }
        self.verdicts.texts(&mut see);
        self.limits.texts(&mut see);
        self.plan.texts(&mut see);
        self.signature.texts(&mut see);
        self.caution.texts(&mut see);
        texts
    }
}

fn plan_block(view: &View<'_>, detail: &Detail) -> Stack<'static> {
    let mut stack = Stack::default().with(Heading::second(
        "Plan, as recorded (nothing here is proposed by the program)",
    ));
    for row in plan::rows(view, detail) {
        let value = if row.key == "Medication" && detail.medication_counted {
            plan::medication_counted(view)
        } else {
            row.value
        };
        let columns = vec![
            Column::left(Width::Fixed(25.0)),
            Column::left(Width::Share(1.0)),
        ];
        let mut table = Table::body(columns, None, vec![vec![Rich::bold(row.key), value]]);
        table.most_lines = match (detail.tight, row.most_lines) {
            (true, 2) => 1,
            (true, 3) => 2,
            (_, most) => most,
        };
        stack = stack.with(table);
    }
    stack
}
