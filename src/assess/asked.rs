//! Which of the missing cells someone can be asked for.

use super::Assessment;

/// Death is not asked for of a patient who shows no sign of it.
const OF_A_DEATH: [&str; 3] = ["death_date", "death_cause", "valve_related_death"];

/// Cells that are filled after the patient has left the procedure room, beside those of the echo before discharge.
const AFTER_THE_ROOM: [&str; 8] = [
    "haemoglobin_discharge_g_dl",
    "creatinine_discharge_umol_l",
    "creatinine_peak_umol_l",
    "creatinine_48h_umol_l",
    "new_dialysis",
    "new_pacemaker_30d",
    "new_left_bundle_branch_block",
    "discharge_date",
];

fn after_the_room(column: &str) -> bool {
    column.starts_with("post_") || AFTER_THE_ROOM.contains(&column)
}

impl Assessment {
    /// The columns of [`Assessment::missing`] that someone can be asked for, in its order.
    pub fn asked(&self) -> impl Iterator<Item = &'static str> {
        let missing = self.missing.iter().copied();
        missing.filter(|column| self.can_be_asked(column))
    }

    /// Whether someone can be asked for a cell of the case that is not known: not for the date of a death that nothing
    /// speaks of, not for a contact where survival to one year is known without it, and for nothing that only a patient has
    /// who left the procedure room alive.
    pub fn can_be_asked(&self, column: &str) -> bool {
        let parts = &self.composites.clinical_efficacy_1y;
        let died_in_the_room = self.known.cells.procedural_death == Some(true);
        match column {
            "last_contact_date" => !parts
                .iter()
                .any(|part| part.name == "alive_365d" && part.holds.is_some()),
            column if OF_A_DEATH.contains(&column) => self.known.signs_of_death,
            column => !(died_in_the_room && after_the_room(column)),
        }
    }
}
