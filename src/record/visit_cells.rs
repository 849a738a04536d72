//! The cells of the followups file.

use jiff::civil::Date;

use super::cell::{Text, cells};
use super::choices::{
    Antithrombotic, Attendance, BleedingType, DeteriorationCause, Grade, Nyha, VisitKind,
};

cells! {
    /// One row of the follow-up file: one visit.
    VisitCells of "followups" {
        /// Key of the procedure in the cases file.
        case_id: Text,
        /// Date of the visit.
        visit_date: Date,
        /// How the patient was seen; blank is attended.
        attendance: Attendance,
        /// Kind of visit.
        visit: VisitKind,
        /// NYHA functional class.
        nyha_class: Nyha,
        /// KCCQ overall summary score (points).
        kccq: f64,
        /// Peak velocity across the prosthesis, at the visit (m/s).
        vmax_m_s: f64,
        /// Mean gradient across the prosthesis, at the visit (mmHg).
        mean_gradient_mmhg: f64,
        /// Velocity-time integral across the prosthesis, at the visit (cm).
        av_vti_cm: f64,
        /// Outflow tract diameter proximal to the prosthesis, at the visit (mm).
        lvot_diameter_mm: f64,
        /// Velocity-time integral proximal to the prosthesis, at the visit (cm).
        lvot_vti_cm: f64,
        /// Left ventricular ejection fraction, at the visit (%).
        lvef_pct: f64,
        /// Paravalvular regurgitation, at the visit.
        paravalvular_grade: Grade,
        /// Transvalvular (intraprosthetic) regurgitation, at the visit.
        transvalvular_grade: Grade,
        /// Right ventricular systolic pressure, at the visit (mmHg).
        rvsp_mmhg: f64,
        /// The team judged a severe haemodynamic deterioration irreversible (thrombosis or endocarditis excluded or treated).
        irreversible: bool,
        /// Cause of valve dysfunction, VARC-3.
        deterioration_cause: DeteriorationCause,
        /// New or worsening symptoms attributed to the valve.
        new_or_worse_symptoms: bool,
        /// Stroke since the last visit (at the first visit: since discharge).
        stroke: bool,
        /// Its date.
        stroke_date: Date,
        /// Hospitalised for a procedure- or valve-related cause since the last visit (at the first: since discharge).
        hospitalised_for_valve_or_procedure: bool,
        /// Its date.
        hospitalisation_date: Date,
        /// Reoperation or reintervention on the valve since the last visit.
        valve_reintervention: bool,
        /// Its date.
        reintervention_date: Date,
        /// Worst bleeding since the last visit, VARC-3.
        bleeding_type: BleedingType,
        /// New permanent pacemaker since the last visit.
        new_pacemaker: bool,
        /// Endocarditis of the prosthesis since the last visit.
        endocarditis: bool,
        /// Leaflet thrombosis found since the last visit.
        leaflet_thrombosis: bool,
        /// Antithrombotic treatment at the visit.
        antithrombotic: Antithrombotic,
        /// Free text.
        note: Text,
    }
}
