//! Survival of the patients from their first procedure.

use std::collections::HashMap;

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::statistics::FollowUp;
use crate::date::days_between;

/// What is known of one patient from all procedures of the key.
#[derive(Clone, Copy, Debug)]
struct Patient {
    /// First dated death of any case of the key.
    death: Option<Date>,
    /// Latest date known alive of any case of the key.
    alive_to: Date,
    /// Whether any case of the key shows signs of death.
    signs_of_death: bool,
}

/// The patients behind the cases.
pub struct Patients {
    of_case: Vec<usize>,
    patients: Vec<Patient>,
}

/// The follow-ups of a selection of cases, one a patient.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Followed {
    /// Days from the first procedure of the selection to death or to the last known contact.
    pub follow_ups: Vec<FollowUp>,
    /// Patients who died without a date, censored where last known alive, and patients whose death is dated before
    /// the procedure, who are not on the curve.
    pub missing: usize,
}

impl Patients {
    /// Joins the cases of each patient key.
    pub fn of(cases: &[AuditCase<'_>]) -> Self {
        let mut place: HashMap<&str, usize> = HashMap::with_capacity(cases.len());
        let mut patients: Vec<Patient> = Vec::with_capacity(cases.len());
        let of_case = cases
            .iter()
            .map(|case| {
                let known = &case.assessment.known;
                let patient = *place.entry(case.patient_key()).or_insert_with(|| {
                    patients.push(Patient {
                        death: None,
                        alive_to: known.alive_to,
                        signs_of_death: false,
                    });
                    patients.len() - 1
                });
                let joined = &mut patients[patient];
                joined.death = joined.death.into_iter().chain(known.death_date).min();
                joined.alive_to = joined.alive_to.max(known.alive_to);
                joined.signs_of_death |= known.signs_of_death;
                patient
            })
            .collect();
        Self { of_case, patients }
    }

    /// The patients of these cases, from the first of their procedures among them.
    pub fn followed(&self, cases: &[AuditCase<'_>], selection: &[usize]) -> Followed {
        let mut first: HashMap<usize, Date> = HashMap::with_capacity(selection.len());
        let mut order = Vec::with_capacity(selection.len());
        for &case in selection {
            let date = cases[case].procedure_date();
            first
                .entry(self.of_case[case])
                .and_modify(|earliest| *earliest = date.min(*earliest))
                .or_insert_with(|| {
                    order.push(self.of_case[case]);
                    date
                });
        }
        let mut followed = Followed::default();
        for patient in order {
            let start = first[&patient];
            let patient = &self.patients[patient];
            let end = patient.death.unwrap_or(patient.alive_to);
            followed.missing += usize::from(patient.death.is_none() && patient.signs_of_death);
            match u32::try_from(days_between(start, end)) {
                Ok(day) => followed.follow_ups.push(FollowUp {
                    day,
                    event: patient.death.is_some(),
                }),
                Err(_) => followed.missing += 1,
            }
        }
        followed
    }
}
