//! Planning risks and what happened: they leave the list for attention once an outcome is recorded.

use super::limits;
use super::view::{View, cell, computed, measured};
use crate::assess::{Flag, NewPacemaker};
use crate::page::number::with_unit;
use crate::page::words::Words;
use crate::record::Extent;

/// The facts that raise a planning risk.
pub(super) fn facts(view: &View<'_>, risk: Flag) -> String {
    let cells = view.cells;
    let sizing = &view.assessment.results.sizing;
    match risk {
        Flag::RootInjuryRisk => format!(
            "Outflow calcium {} with {} over-sizing by area",
            cells
                .lvot_calcification
                .map_or("—".to_owned(), crate::page::words::plain),
            with_unit(
                &computed(sizing.area_oversizing_pct, 0, limits::OVERSIZING),
                "%"
            )
        ),
        Flag::LowCoronary => format!(
            "Left coronary at {}, sinus {}",
            measured(cells.left_coronary_height_mm, 1, "mm", limits::CORONARY),
            measured(cells.sinus_of_valsalva_mm, 1, "mm", limits::SINUS)
        ),
        Flag::TightAccess => format!(
            "Sheath {} times the lumen",
            computed(sizing.sheath_femoral_ratio, 2, limits::SHEATH)
        ),
        Flag::WideAorta => format!(
            "Ascending aorta {}",
            measured(cells.ascending_aorta_mm, 0, "mm", limits::AORTA)
        ),
        Flag::ConductionRisk => {
            let block = if cells.right_bundle_branch_block == Some(true) {
                "right bundle branch block"
            } else {
                ""
            };
            let deep = cells
                .implant_depth_mm
                .zip(cells.membranous_septum_mm)
                .filter(|(depth, septum)| depth > septum);
            let depth = deep.map_or(String::new(), |(depth, septum)| {
                format!(
                    "depth {} over septum {}",
                    cell(Some(depth), 1, &[]),
                    measured(Some(septum), 1, "mm", &[])
                )
            });
            let joint = if block.is_empty() || depth.is_empty() {
                ""
            } else {
                ", "
            };
            super::findings::capitalised(&format!("{block}{joint}{depth}"))
        }
        _ => String::new(),
    }
}

/// What a planning risk is a risk of, in a word.
pub(super) fn of_what(risk: Flag) -> &'static str {
    match risk {
        Flag::RootInjuryRisk => "root",
        Flag::LowCoronary => "coronary",
        Flag::TightAccess => "access",
        Flag::WideAorta => "aorta",
        _ => "conduction",
    }
}

/// What happened, where it is recorded; `None` for flags that are no planning risk.
pub(super) fn happened(view: &View<'_>, risk: Flag) -> Option<String> {
    let cells = view.cells;
    let yes_no = |cell: Option<bool>, yes: &str, no: &str| {
        cell.map(|cell| if cell { yes } else { no }.to_owned())
    };
    match risk {
        Flag::RootInjuryRisk => yes_no(cells.annular_rupture, "annular rupture", "no rupture"),
        Flag::LowCoronary => yes_no(
            cells.coronary_obstruction,
            "coronary obstruction",
            "no obstruction",
        ),
        Flag::TightAccess => cells.vascular_complication.map(|extent| match extent {
            Extent::None => "no vascular complication".to_owned(),
            extent => format!("{} vascular complication", extent.words()),
        }),
        Flag::WideAorta => yes_no(cells.aortic_dissection, "dissection", "no dissection"),
        Flag::ConductionRisk => match view.assessment.results.outcomes.new_pacemaker {
            NewPacemaker::Yes => Some("new pacemaker".to_owned()),
            NewPacemaker::No => Some(match cells.new_left_bundle_branch_block {
                Some(true) => "no pacemaker, new LBBB".to_owned(),
                _ => "no new pacemaker".to_owned(),
            }),
            NewPacemaker::NotApplicable | NewPacemaker::NotAssessable => None,
        },
        _ => None,
    }
}

/// Every planning risk raised, in the order of the flags.
pub(super) fn raised<'a>(view: &'a View<'_>) -> impl Iterator<Item = Flag> + 'a {
    const RISKS: [Flag; 5] = [
        Flag::RootInjuryRisk,
        Flag::LowCoronary,
        Flag::TightAccess,
        Flag::WideAorta,
        Flag::ConductionRisk,
    ];
    view.assessment
        .flags
        .iter()
        .copied()
        .filter(|flag| RISKS.contains(flag))
}
