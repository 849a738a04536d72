//! What happened to day 30: events that fit each other, then the blood values that fit the events.

use super::fate::Death;
use super::patient::Patient;
use super::procedure::Implant;
use super::random::Random;
use super::table::Row;

/// What later parts need to know.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The procedure ended without a valve.
    pub no_valve: bool,
    /// Died in the room.
    pub died_in_room: bool,
    /// Days in hospital after the procedure that the events cost.
    pub extra_days: i64,
    /// New pacemaker.
    pub paced: bool,
}

/// Draws the events and writes them with their blood values.
pub fn draw(
    row: &mut Row,
    random: &mut Random,
    patient: &Patient,
    implant: &Implant,
    death: Option<Death>,
) -> Outcome {
    let died_in_room = death.is_some_and(|death| death.day == 0);
    let no_valve = random.chance(0.003);
    let structural = structure(row, random, implant, died_in_room);
    let embolised = !no_valve && random.chance(0.007);
    let second = !no_valve && random.chance(if embolised { 0.8 } else { 0.006 });
    row.yes_no("procedural_death", died_in_room);
    row.yes_no("no_valve_implanted", no_valve);
    row.yes_no("valve_embolisation", embolised);
    row.yes_no("second_valve", second);
    row.yes_no(
        "position_ok",
        !no_valve && !embolised && random.chance(0.99),
    );
    row.yes_no("access_delivery_retrieval_ok", random.chance(0.985));
    let tight = implant.sheath_ratio >= 1.05;
    let (minor, major) = if tight { (0.14, 0.09) } else { (0.07, 0.025) };
    let vascular = random.weighted(&[
        ("none", 1.0 - minor - major),
        ("minor", minor),
        ("major", major),
    ]);
    row.set("vascular_complication", vascular);
    let grave = structural == "major" || vascular == "major";
    let converted = row.get("conversion_to_surgery") == "yes";
    row.yes_no(
        "device_intervention_in_room",
        converted || (second && random.chance(0.6)),
    );
    row.yes_no(
        "complication_intervention_in_room",
        converted || (grave && random.chance(0.6)),
    );
    let bleeding = bleeding(random, grave, death);
    row.set("bleeding_type", bleeding);
    row.yes_no(
        "periprocedural_myocardial_infarction",
        row.get("coronary_obstruction") == "yes" || random.chance(0.006),
    );
    let paced = later(row, random, patient, implant, died_in_room);
    haemoglobin(row, random, patient, bleeding, died_in_room);
    let injured = kidney(row, random, patient, bleeding, died_in_room);
    let stroke = matches!(
        row.get("stroke_30d"),
        "ischaemic" | "haemorrhagic" | "unspecified"
    );
    let extra_days = 4 * i64::from(grave)
        + 6 * i64::from(stroke)
        + 2 * i64::from(paced)
        + 3 * i64::from(injured);
    Outcome {
        no_valve,
        died_in_room,
        extra_days,
        paced,
    }
}

/// Cardiac structural events; a patient who dies in the room often has one.
fn structure(
    row: &mut Row,
    random: &mut Random,
    implant: &Implant,
    died_in_room: bool,
) -> &'static str {
    let more = if died_in_room { 25.0 } else { 1.0 };
    let rupture = random.chance(more * if implant.rupture_prone { 0.02 } else { 0.0015 });
    let dissection = random.chance(more * 0.0015);
    let obstruction = random.chance(more * 0.004);
    let tamponade = rupture || random.chance(more * 0.006);
    let grave = rupture || dissection || obstruction || tamponade;
    row.yes_no("annular_rupture", rupture);
    row.yes_no("aortic_dissection", dissection);
    row.yes_no("coronary_obstruction", obstruction);
    row.yes_no("tamponade", tamponade);
    row.yes_no(
        "conversion_to_surgery",
        random.chance(if rupture || dissection { 0.5 } else { 0.002 }),
    );
    let kind = if grave {
        "major"
    } else {
        random.weighted(&[("none", 0.995), ("minor", 0.005)])
    };
    row.set("structural_complication", kind);
    kind
}

fn bleeding(random: &mut Random, grave: bool, death: Option<Death>) -> &'static str {
    if death.is_some_and(|death| death.day <= 30 && death.cause == "cardiovascular")
        && random.chance(0.12)
    {
        "type_4"
    } else if grave {
        random.weighted(&[
            ("none", 0.05),
            ("type_1", 0.15),
            ("type_2", 0.5),
            ("type_3", 0.3),
        ])
    } else {
        random.weighted(&[
            ("none", 0.84),
            ("type_1", 0.11),
            ("type_2", 0.04),
            ("type_3", 0.01),
        ])
    }
}

/// What shows after the room: stroke, rhythm, interventions to day 30.
fn later(
    row: &mut Row,
    random: &mut Random,
    patient: &Patient,
    implant: &Implant,
    died_in_room: bool,
) -> bool {
    let stroke = [
        ("none", 0.967),
        ("tia", 0.008),
        ("ischaemic", 0.019),
        ("haemorrhagic", 0.003),
        ("unspecified", 0.003),
    ];
    let stroke = if died_in_room {
        "none"
    } else {
        random.weighted(&stroke)
    };
    row.set("stroke_30d", stroke);
    if !matches!(stroke, "none" | "tia") {
        row.yes_no("stroke_disabling", random.chance(0.45));
    }
    if died_in_room {
        return false;
    }
    let block = row.get("right_bundle_branch_block") == "yes";
    let likely = 0.05 + if block { 0.22 } else { 0.0 } + 0.025 * implant.overlap_mm.clamp(0.0, 4.0);
    let paced = !patient.paced && random.chance(likely);
    row.yes_no("new_pacemaker_30d", paced);
    row.yes_no(
        "new_left_bundle_branch_block",
        !patient.paced && !block && random.chance(0.14),
    );
    row.yes_no("device_intervention_to_30_days", random.chance(0.006));
    row.yes_no(
        "complication_intervention_to_30_days",
        random.chance(if row.get("vascular_complication") == "major" {
            0.25
        } else {
            0.005
        }),
    );
    paced
}

/// Haemoglobin falls and units that make the bleeding type what it is (VARC-3: more than 3 and less than 5 g/dL or 2 to 4
/// units for type 2; 5 g/dL or 5 units for type 3).
fn haemoglobin(
    row: &mut Row,
    random: &mut Random,
    patient: &Patient,
    bleeding: &str,
    died_in_room: bool,
) {
    let (fall, units) = match bleeding {
        "none" => (random.between(0.3, 1.9), 0),
        "type_1" => (random.between(1.2, 2.9), random.whole(0, 1)),
        "type_2" => (random.between(3.1, 4.8), random.whole(2, 4)),
        _ => (random.between(5.0, 6.5), random.whole(5, 11)),
    };
    let lowest = (patient.haemoglobin_g_dl - fall).max(4.5);
    row.number("haemoglobin_lowest_g_dl", lowest, 1);
    row.set("red_cell_units", units);
    if !died_in_room {
        row.number(
            "haemoglobin_discharge_g_dl",
            lowest + random.between(0.0, 0.9),
            1,
        );
    }
}

/// Creatinine that rises with age of the kidney and bleeding; true where the kidney was injured.
fn kidney(
    row: &mut Row,
    random: &mut Random,
    patient: &Patient,
    bleeding: &str,
    died_in_room: bool,
) -> bool {
    if died_in_room {
        return false;
    }
    let before = patient.creatinine_umol_l;
    let more = if before > 120.0 || matches!(bleeding, "type_2" | "type_3") {
        2.5
    } else {
        1.0
    };
    let rise = [
        ((0.92, 1.14), 0.93),
        ((1.5, 2.0), 0.04 * more),
        ((2.05, 2.9), 0.01 * more),
        ((3.1, 4.2), 0.004 * more),
    ];
    let (low, high) = if patient.dialysis {
        (0.9, 1.1)
    } else {
        random.weighted(&rise)
    };
    let first = before * random.between(0.92, 1.12);
    let peak = (before * random.between(low, high)).max(first).min(2400.0);
    let first = if low > 1.0 {
        peak * random.between(0.7, 1.0)
    } else {
        first
    };
    row.number("creatinine_48h_umol_l", first, 0);
    row.number("creatinine_peak_umol_l", peak, 0);
    row.number(
        "creatinine_discharge_umol_l",
        peak - (peak - before) * random.between(0.4, 1.0),
        0,
    );
    let new_dialysis = !patient.dialysis && low > 2.0 && random.chance(0.25);
    row.yes_no("new_dialysis", new_dialysis);
    low > 1.0
}
