//! What was implanted and how: the device near the annulus, balloons, the leak that remains, the laboratory's numbers.

use std::f64::consts::FRAC_PI_4;

use super::devices::{self, Device, Mechanism};
use super::heart::{Heart, grade};
use super::patient::Patient;
use super::random::Random;
use super::table::Row;

/// What later parts need to know of the procedure.
#[derive(Clone, Debug)]
pub struct Implant {
    /// Effective orifice area of the prosthesis, cm2.
    pub eoa_cm2: f64,
    /// Paravalvular grade.
    pub leak: &'static str,
    /// How far the frame reaches past the membranous septum, mm.
    pub overlap_mm: f64,
    /// Sheath over lumen; 0 where the access is not femoral.
    pub sheath_ratio: f64,
    /// Balloon-expandable, calcified outflow tract and clearly over-sized.
    pub rupture_prone: bool,
}

/// Chooses, implants, and writes the laboratory's part of the row.
pub fn implant(row: &mut Row, random: &mut Random, patient: &Patient, heart: &Heart) -> Implant {
    let mechanism = random.weighted(&[
        (Mechanism::Balloon, 0.47),
        (Mechanism::Itself, 0.45),
        (Mechanism::Mechanical, 0.08),
    ]);
    let planned = devices::fitting(mechanism, heart.area_mm2, heart.perimeter_mm);
    let chosen = other_size(row, random, heart, planned);
    row.set("planned_device_id", planned.id);
    // A few valves have no row in the devices file.
    row.set(
        "device_id",
        if random.chance(0.004) {
            "GEN-OLD-25"
        } else {
            chosen.id
        },
    );
    row.set(
        "device_serial",
        format_args!("G{:010}", random.whole(0, 9_999_999_999)),
    );
    row.set("device_lot", format_args!("L{:04}", random.whole(0, 9_999)));
    let nominal_mm2 = FRAC_PI_4 * chosen.size_mm * chosen.size_mm;
    let oversizing = nominal_mm2 / heart.area_mm2 - 1.0;
    let balloon = chosen.mechanism == Mechanism::Balloon;
    let severity = random.normal(0.85, 0.92) + 0.25 * heart.outflow_calcium as f64
        - if balloon {
            2.5 * oversizing
        } else {
            0.6 * oversizing
        };
    let leak = grade(severity + 0.3);
    if balloon {
        row.number(
            "fill_volume_change_ml",
            if random.chance(0.25) {
                random.normal_within(-0.3, 0.9, -2.5, 3.0)
            } else {
                0.0
            },
            1,
        );
    }
    let post = random.chance(if severity > 1.7 { 0.4 } else { 0.12 });
    row.yes_no("postdilatation", post);
    if post && balloon {
        row.number(
            "postdilatation_volume_change_ml",
            random.normal_within(1.0, 0.7, 0.0, 4.0),
            1,
        );
    }
    let annulus_mm = (heart.area_mm2 / FRAC_PI_4).sqrt();
    let frame_mm = if balloon {
        chosen.size_mm - random.between(0.3, 1.3)
    } else {
        (annulus_mm + random.normal(0.4, 0.5)).min(chosen.size_mm - 0.5)
    };
    row.number("frame_measured_mm", frame_mm, 1);
    let depth_mm = random.normal_within(if balloon { 3.6 } else { 4.2 }, 1.5, 0.0, 11.0);
    row.number("implant_depth_mm", depth_mm, 1);
    let sheath_ratio = access(row, random, chosen);
    laboratory(row, random, heart, leak);
    let small_body = 1.0 + 0.05 * (patient.bsa_m2() - 1.8);
    Implant {
        eoa_cm2: chosen.eoa_cm2 * small_body * random.normal_within(0.98, 0.14, 0.55, 1.5),
        leak,
        overlap_mm: depth_mm - heart.septum_mm,
        sheath_ratio,
        rupture_prone: balloon && heart.outflow_calcium >= 2 && oversizing >= 0.2,
    }
}

/// Pre-dilatation; where the lines of evidence differ, the size may leave the plan.
fn other_size(
    row: &mut Row,
    random: &mut Random,
    heart: &Heart,
    planned: &'static Device,
) -> &'static Device {
    let bicuspid = heart.intercommissural_mm.is_some();
    let predilated = random.chance(if bicuspid { 0.85 } else { 0.42 });
    row.yes_no("predilatation", predilated);
    let annulus_mm = (heart.area_mm2 / FRAC_PI_4).sqrt();
    let narrowest_mm = heart
        .intercommissural_mm
        .unwrap_or(annulus_mm)
        .min(annulus_mm)
        - 0.7 * (heart.leaflet_calcium as f64 - 1.0).max(0.0);
    let mut sealed_small = false;
    if predilated {
        let balloon_mm = (narrowest_mm - random.between(-0.5, 2.2))
            .round()
            .clamp(14.0, 28.0);
        row.set("predilatation_balloon_mm", balloon_mm);
        if random.chance(if bicuspid { 0.8 } else { 0.4 }) {
            let sealed = balloon_mm > narrowest_mm - random.between(0.5, 2.5);
            row.set(
                "predilatation_seal",
                if sealed {
                    "complete"
                } else {
                    random.weighted(&[("partial", 0.7), ("none", 0.3)])
                },
            );
            if !sealed || random.chance(0.3) {
                row.set(
                    "leaking_balloon_mm",
                    if sealed { balloon_mm - 2.0 } else { balloon_mm },
                );
            }
            sealed_small = sealed && balloon_mm < annulus_mm - 2.5;
        }
    }
    let smaller = sealed_small && random.chance(0.5);
    let chosen = if smaller || random.chance(0.03) {
        devices::neighbour(planned, !smaller && random.chance(0.5))
    } else {
        None
    };
    let reason = match chosen {
        Some(_) if smaller => "Balloon sealed below the annulus, one size smaller than planned",
        Some(_) => "Annulus between two sizes, \"grey zone\"; the other size taken",
        None => "Annulus inside the range",
    };
    if chosen.is_some() || random.chance(0.6) {
        row.set("sizing_reason", reason);
    }
    chosen.unwrap_or(planned)
}

fn access(row: &mut Row, random: &mut Random, device: &Device) -> f64 {
    let lumen_mm = random.normal_within(7.8, 1.1, 4.5, 12.0);
    let femoral = if lumen_mm < 5.6 { 0.4 } else { 0.965 };
    let others = [
        ("transsubclavian", 0.3),
        ("transcarotid", 0.25),
        ("transapical", 0.2),
        ("transcaval", 0.15),
        ("direct_aortic", 0.1),
    ];
    let route = if random.chance(femoral) {
        "transfemoral"
    } else {
        random.weighted(&others)
    };
    row.set("access_route", route);
    row.number("access_min_lumen_mm", lumen_mm, 1);
    let percutaneous = matches!(route, "transfemoral" | "transcaval");
    row.set(
        "access_closure",
        if percutaneous {
            random.weighted(&[
                ("closure_device", 0.94),
                ("surgical", 0.05),
                ("manual", 0.01),
            ])
        } else {
            "surgical"
        },
    );
    let anaesthesia = [
        ("local", 0.42),
        ("conscious_sedation", 0.42),
        ("general", 0.16),
    ];
    row.set(
        "anaesthesia",
        if percutaneous {
            random.weighted(&anaesthesia)
        } else {
            "general"
        },
    );
    row.set(
        "cerebral_protection",
        random.weighted(&[("used", 0.22), ("not_used", 0.74), ("not_feasible", 0.04)]),
    );
    if route == "transfemoral" {
        device.sheath_mm / lumen_mm
    } else {
        0.0
    }
}

fn laboratory(row: &mut Row, random: &mut Random, heart: &Heart, leak: &str) {
    row.number(
        "dose_area_product_gy_cm2",
        58.0 * random.normal(0.0, 0.5).exp(),
        0,
    );
    row.number(
        "contrast_ml",
        (92.0 * random.normal(0.0, 0.35).exp()).min(400.0),
        0,
    );
    row.number(
        "fluoroscopy_min",
        (16.0 * random.normal(0.0, 0.35).exp()).min(120.0),
        0,
    );
    row.number(
        "invasive_mean_gradient_before_mmhg",
        (heart.mean_gradient_mmhg + random.normal(-1.0, 4.0)).clamp(4.0, 150.0),
        0,
    );
    row.number(
        "invasive_mean_gradient_after_mmhg",
        random.normal_within(4.0, 2.5, 0.0, 20.0),
        0,
    );
    let rate_bpm = random.normal_within(70.0, 9.0, 46.0, 115.0).round();
    row.number(
        "cardiac_output_l_min",
        heart.stroke_volume_ml * rate_bpm / 1000.0,
        1,
    );
    row.number(
        "systolic_ejection_period_s",
        random.normal_within(0.325, 0.02, 0.24, 0.42),
        2,
    );
    row.set("catheter_heart_rate_bpm", rate_bpm);
    let filling_mmhg = random.normal_within(18.0, 4.5, 6.0, 38.0).round();
    let systolic = random.normal_within(127.0, 16.0, 84.0, 190.0).round();
    row.set("aortic_sbp_before_mmhg", systolic);
    row.number(
        "aortic_dbp_before_mmhg",
        (systolic * random.normal_within(0.46, 0.04, 0.36, 0.58)).max(34.0),
        0,
    );
    row.set("lvedp_before_mmhg", filling_mmhg);
    // The worse the leak, the nearer the two pressures at the end of diastole (regurgitation index, Sinning 2012).
    let index = match leak {
        "severe" => 9.0,
        "moderate" => 20.0,
        "mild" => 28.5,
        _ => 33.0,
    };
    let after = (systolic + random.normal(9.0, 8.0))
        .clamp(84.0, 200.0)
        .round();
    let filling_after = (filling_mmhg + random.normal(-2.0, 2.5))
        .clamp(4.0, 40.0)
        .round();
    row.set("aortic_sbp_after_mmhg", after);
    row.number(
        "aortic_dbp_after_mmhg",
        (filling_after + after * random.normal_within(index, 3.5, 3.0, 45.0) / 100.0)
            .min(after * 0.8),
        0,
    );
    row.set("lvedp_after_mmhg", filling_after);
}
