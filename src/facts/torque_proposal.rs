//! The window of full torque that a bolt's own numbers suggest, where nobody states one.
//!
//! The upper end is the torque at the least friction at which the bolt uses up the share of its yield point that the
//! rulebook allows (VDI 2230), less what the wrench may read too little, and no more than the maker of the threaded part
//! allows; the lower end is 10 % below. The maker's own table goes before it.

use super::bolt;
use super::torque_window::shown;
use crate::calc::bolts::{SeatedBolt, ValueRange, YIELD_SHARE};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Fastener, Ledger, ThreadedInto};
use crate::quantity::{Amount, Length, Ratio, Torque};

pub(crate) struct ProposedWindow {
    pub least: Torque,
    pub most: Torque,
    /// How it came about.
    pub how: String,
}

/// A window for a fastener, or what it would take.
pub(crate) fn propose(ledger: &Ledger, limits: &Rulebook, fastener: &Fastener) -> Result<ProposedWindow, String> {
    let (bolt, friction) = match bolt::bolt(fastener) {
        Ok(Some(known)) => known,
        Ok(None) => return Err("with its thread, class, head and friction stated, one is computed by VDI 2230".into()),
        Err(lacking) => return Err(format!("none can be computed: {}; {}", lacking.what, lacking.next)),
    };
    if let Some(weak) = weaker(fastener, &bolt) {
        return Err(weak);
    }
    let usual = Ratio((YIELD_SHARE * 1e9) as i64);
    let share = limits.most::<Ratio>(LimitName::ProofLoadShare).map_or(usual, |(share, _)| share);
    let allowed = bolt::allowed(&bolt, friction, share.to_f64());
    let (error, of_wrench) = deviation(ledger, allowed);
    let one = i128::from(Ratio::ONE.0);
    let with_wrench = one * allowed.0 / (one + i128::from(error.0));
    let by_maker = fastener.most_torque.map(|most| most.value).filter(|most| most.0 < with_wrench);
    let (least, most) = window(by_maker.map_or(with_wrench, |most| most.0))
        .ok_or("the bolt stands so little torque that no wrench could keep a window")?;
    let at_least = ValueRange { least: least.to_f64(), most: most.to_f64() };
    let held = bolt::preload(&bolt, friction, at_least).map(|preload| preload.percent.0);
    let (mu_least, mu_most) = (friction.least(), friction.most());
    let upper = match by_maker {
        Some(most) => format!("the maker allows {most}"),
        None => format!(
            "{} % of the yield point at friction {mu_least} are {}, over 1 + {} % of the wrench ({of_wrench})",
            percent(share),
            shown(allowed),
            percent(error),
        ),
    };
    let held = held.map_or(String::new(), |held| {
        format!("; at {} and friction {mu_most} it holds {held} % of its proof load", shown(least))
    });
    Ok(ProposedWindow { least, most, how: format!("VDI 2230: {upper}{held}") })
}

/// Why the bolt's strength does not say what the fastener stands, where it does not.
fn weaker(fastener: &Fastener, bolt: &SeatedBolt) -> Option<String> {
    if fastener.most_torque.is_some() {
        return None;
    }
    let into = fastener.into.map(|into| *into);
    let weak = match into {
        Some(ThreadedInto::Aluminium) => "aluminium strips before the bolt gives way",
        Some(ThreadedInto::CastIron) => "cast iron may strip before the bolt gives way",
        Some(ThreadedInto::Other) => "what it is screwed into may strip before the bolt gives way",
        None => "what it is screwed into is not described",
        Some(ThreadedInto::Steel) if bolt.carries() < 1.0 => "its head carries less than the thread",
        // In steel of which nothing is stated enough thread is taken to be engaged, as is common.
        Some(ThreadedInto::Steel) if engaged_enough(fastener, bolt).is_none() => return None,
        Some(ThreadedInto::Steel) => "the thread in the steel strips before the bolt gives way",
    };
    match engaged_enough(fastener, bolt) {
        Some(Ok(())) => None,
        Some(Err(needed)) => Some(format!(
            "{weak}: its engagement would have to be {needed} by VDI 2230-1; take the window from the maker's table"
        )),
        None => Some(format!(
            "{weak}: take the window from the maker's table, or state most-torque=…, or engagement=… with shear-strength=…, and one is computed"
        )),
    }
}

/// Whether so much thread is engaged that the bolt breaks before the threaded part strips, or how much it would take;
/// nothing where that is not described.
pub(crate) fn engaged_enough(fastener: &Fastener, bolt: &SeatedBolt) -> Option<Result<(), Length>> {
    let (engaged, shear) = (fastener.engagement?, fastener.shear_strength?);
    let needed = bolt.engagement_needed_mm(shear.value.to_f64());
    // In whole hundredths of a millimetre, rounded up; beyond a kilometre nobody asks.
    let needed = Length(((needed.min(1e6) * 100.0).ceil() as i64) * 10_000);
    Some(if engaged.value >= needed { Ok(()) } else { Err(needed) })
}

/// The greatest permissible deviation of a wrench of the shop that reaches a torque, and where it is from.
fn deviation(ledger: &Ledger, torque: Torque) -> (Ratio, String) {
    let reaches = |most: Option<Torque>| most.is_none_or(|most| most >= torque);
    let stated = ledger.shop.wrenches.iter().filter(|wrench| reaches(wrench.most.map(|most| most.value)));
    let stated = stated.filter_map(|wrench| Some((wrench.permissible_error?.value, wrench.name.as_str())));
    // The first of those with the greatest.
    match stated.reduce(|worst, it| if it.0 > worst.0 { it } else { worst }) {
        Some((error, name)) => (error, format!("`{name}`")),
        // ISO 6789-1, class A: 4 % for a tool of more than 10 N·m, 6 % for one of less.
        None if torque > Torque::milli(10_000) => (Ratio(40_000_000), "ISO 6789-1, no wrench states its own".into()),
        None => (Ratio(60_000_000), "ISO 6789-1, no wrench states its own".into()),
    }
}

/// The window up to a torque, its ends on whole tenths of a N·m, or hundredths below 2 N·m.
fn window(most: i128) -> Option<(Torque, Torque)> {
    const MILLI: i128 = 1_000_000_000_000_000;
    let most = most / MILLI;
    let step = if most >= 2000 { 100 } else { 10 };
    let most = most / step * step;
    // Rounded up.
    let least = (most * 9 + 10 * step - 1) / (10 * step) * step;
    (least > 0 && least < most).then_some((Torque(least * MILLI), Torque(most * MILLI)))
}

/// As people write it: `4`.
pub(crate) fn percent(share: Ratio) -> String {
    Ratio(share.0.saturating_mul(100)).number()
}
