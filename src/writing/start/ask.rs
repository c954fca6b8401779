//! The questions of a new ledger. What was said as an option is not asked for.

use super::wanted::{Wanted, WantedCarriage, WantedCutting, WantedProfile, WantedSupports, Wish};
use crate::calc::layout::clearance::joint_support_planned;
use crate::facts::layout_plan::{USUAL_KERF, far_distance};
use crate::ledger::Shop;
use crate::quantity::{Amount, Length};
use crate::writing::entry::value::{number, numbers};
use crate::writing::entry::{PromptError, Prompter, right};

/// What was said as options, as typed.
#[derive(Clone, Debug, Default)]
pub(crate) struct StartOptions {
    pub name: String,
    pub title: Option<String>,
    pub axis: String,
    pub length: Option<String>,
    pub rails: Vec<String>,
    pub pieces: Vec<String>,
    pub profile: Option<String>,
    pub pitch: Option<String>,
    pub end_distance: Option<String>,
    pub stock: Option<String>,
    pub support_pitch: Option<String>,
    pub support_length: Option<String>,
    pub joint_support_length: Option<String>,
    pub carriage: Option<String>,
    pub blocks: Option<String>,
    pub block_length: Option<String>,
    /// The planner lays the rails out.
    pub plan: bool,
}

/// Asks for what was not said.
pub(crate) fn ask(given: &StartOptions, shop: &Shop, prompter: &mut dyn Prompter) -> Result<Wanted, PromptError> {
    let length = one(prompter, &given.length, "Length of the rails in mm", None)?;
    let rails = names(prompter, &given.rails)?;
    let mut wishes = Vec::new();
    for (at, name) in rails.iter().enumerate() {
        // One list of pieces for all beams, or one for each.
        let said = if given.pieces.len() == 1 { given.pieces.first() } else { given.pieces.get(at) };
        let question = format!("Pieces of the beam under {name} in mm, as 3600 3600 (Enter for one piece)");
        let check = |answer: &str| -> Result<Vec<Length>, String> {
            if answer.is_empty() {
                return Ok(vec![length]);
            }
            let pieces = lengths(answer)?;
            let sum: Length = pieces.iter().copied().sum();
            if sum < length {
                return Err(format!("the pieces make {sum}, the rails are {length} long"));
            }
            Ok(pieces)
        };
        let pieces = match said {
            Some(said) => check(said).map_err(PromptError::Wrong)?,
            None => right(prompter, &question, check)?,
        };
        wishes.push(Wish { name: name.clone(), pieces });
    }
    let profile = profile(given, shop, prompter)?;
    let supports = supports(given, &profile, length, prompter)?;
    let carriage = carriage(given, length, prompter)?;
    let title = given.title.clone().unwrap_or_else(|| given.name.clone());
    Ok(Wanted {
        name: given.name.clone(),
        title,
        axis: given.axis.clone(),
        length,
        rails: wishes,
        profile,
        supports,
        carriage,
    })
}

fn names(prompter: &mut dyn Prompter, said: &[String]) -> Result<Vec<String>, PromptError> {
    let check = |words: &[&str]| -> Result<Vec<String>, String> {
        let mut names: Vec<String> = Vec::new();
        for word in words {
            if word.contains('.') || word.contains(char::is_whitespace) || word.is_empty() {
                return Err(format!("`{word}` is no name of a rail: a word without points"));
            }
            if names.iter().any(|name| name == word) {
                return Err(format!("two rails are called `{word}`"));
            }
            names.push((*word).to_string());
        }
        Ok(names)
    };
    if !said.is_empty() {
        return check(&said.iter().map(String::as_str).collect::<Vec<_>>()).map_err(PromptError::Wrong);
    }
    right(prompter, "Names of the rails, the reference rail first (Enter for: left right)", |answer| {
        let answer = if answer.is_empty() { "left right" } else { answer };
        check(&answer.split_whitespace().collect::<Vec<_>>())
    })
}

fn profile(given: &StartOptions, shop: &Shop, prompter: &mut dyn Prompter) -> Result<WantedProfile, PromptError> {
    let known: Vec<&str> = shop.profiles.iter().map(|profile| profile.name.as_str()).collect();
    let there = if known.is_empty() { String::new() } else { format!(" (in the shop file: {})", known.join(", ")) };
    let name = match &given.profile {
        Some(name) => name.clone(),
        None => right(prompter, &format!("Rail profile{there}"), |name| {
            if name.is_empty() || name.contains(char::is_whitespace) { Err("a word") } else { Ok(name.to_string()) }
        })?,
    };
    let it = shop.profile(&name);
    let or = |said: &Option<String>, from: Option<Length>| said.clone().or(from.map(|length| length.number()));
    let hole_pitch = one(
        prompter,
        &or(&given.pitch, it.and_then(|it| it.hole_pitch).map(|it| it.value)),
        "Hole pitch of the profile in mm",
        None,
    )?;
    let half = Length(hole_pitch.0 / 2);
    let from_shop = it.and_then(|it| it.end_distance).map(|it| it.value);
    let end_distance =
        one(prompter, &or(&given.end_distance, from_shop), "From a bar's end to its first hole in mm", Some(half))?;
    let stock = match it.filter(|it| !it.stock.is_empty() && given.stock.is_none()) {
        Some(it) => it.stock.iter().map(|(bar, count)| (bar.value, count.map(|count| count.value))).collect(),
        None => {
            let check = |answer: &str| lengths(answer);
            let bars = match &given.stock {
                Some(said) => check(said).map_err(PromptError::Wrong)?,
                None => right(prompter, "Bar lengths that can be had, in mm, as 1200 2400 3000", check)?,
            };
            bars.into_iter().map(|bar| (bar, None)).collect()
        }
    };
    let cutting = it.filter(|it| it.cutting_allowed()).map(|it| WantedCutting {
        grid: it.cut_grid().map_or(hole_pitch, |grid| grid.value),
        kerf: it.kerf().map_or(USUAL_KERF, |kerf| kerf.value),
    });
    Ok(WantedProfile {
        name,
        hole_pitch,
        end_distance,
        bolt_edge: it.and_then(|it| it.bolt_edge).map_or(Length::mm(10), |edge| edge.value),
        stock,
        cutting,
        least_segment: it.and_then(|it| it.least_segment).map_or(Length::ZERO, |least| least.value),
        known: it.is_some(),
    })
}

fn supports(
    given: &StartOptions,
    profile: &WantedProfile,
    length: Length,
    prompter: &mut dyn Prompter,
) -> Result<WantedSupports, PromptError> {
    let hole = profile.hole_pitch;
    let pitch = one(prompter, &given.support_pitch, "From one support to the next in mm", Some(Length(hole.0 * 4)))?;
    // Wide enough for the two bolts between which a support stands.
    let two = Length(hole.0 + 2 * profile.bolt_edge.0);
    let covers = one(prompter, &given.support_length, "Length of rail that one support covers in mm", Some(two))?;
    // Two bolts of each rail end, as the planner takes it. Without a plan there is no joint support to say it of, and who
    // plans later has a length of their own.
    let near = profile.end_distance.nm();
    let ends = profile.stock.iter().flat_map(|(bar, _)| [near, far_distance(bar.nm(), near, hole.nm())]);
    let least = Length(joint_support_planned(ends, None, (hole.nm(), 2, profile.bolt_edge.nm())));
    let joint_covers = match given.plan {
        true => {
            one(prompter, &given.joint_support_length, "Length of rail that a joint support covers in mm", Some(least))?
        }
        false => least,
    };
    // Supports stand midway between two holes of the bars' own pattern.
    let places = (pitch.0 / hole.0).max(1);
    let first = Length(profile.end_distance.0 + hole.0 * places - hole.0 / 2);
    let room = length.0 - first.0 - covers.0 / 2;
    let count = if room < 0 { 0 } else { u32::try_from(room / pitch.0 + 1).unwrap_or(u32::MAX) };
    if count > 5_000 {
        return Err(PromptError::Wrong(format!(
            "{count} supports under one rail: check the length and the support pitch"
        )));
    }
    Ok(WantedSupports { first, pitch, count, covers, joint_covers })
}

fn carriage(
    given: &StartOptions,
    length: Length,
    prompter: &mut dyn Prompter,
) -> Result<Option<WantedCarriage>, PromptError> {
    let check = |answer: &str| -> Result<Option<Length>, String> {
        match answer {
            "" | "none" => Ok(None),
            _ => positive(answer).map(Some),
        }
    };
    let whole = match &given.carriage {
        Some(said) => check(said).map_err(PromptError::Wrong)?,
        None => right(prompter, "Length of the carriage in mm (Enter leaves it out)", check)?,
    };
    let Some(whole) = whole else { return Ok(None) };
    if whole >= length {
        return Err(PromptError::Wrong(format!("the carriage of {whole} is no shorter than the rails of {length}")));
    }
    let places = |answer: &str| -> Result<Vec<Length>, String> {
        let all = numbers::<Length>(answer)?;
        if all.is_empty() { Err("at least one place".into()) } else { Ok(all.iter().map(|it| it.value).collect()) }
    };
    let blocks = match &given.blocks {
        Some(said) => places(said).map_err(PromptError::Wrong)?,
        None => {
            right(prompter, "Middles of the blocks on each rail from the carriage's middle in mm, as -180 180", places)?
        }
    };
    let block_length = one(prompter, &given.block_length, "Effective length of a block in mm", None)?;
    Ok(Some(WantedCarriage { length: whole, blocks, block_length }))
}

/// A length above zero: as said, as asked, or the usual one.
fn one(
    prompter: &mut dyn Prompter,
    said: &Option<String>,
    what: &str,
    usual: Option<Length>,
) -> Result<Length, PromptError> {
    let check = |answer: &str| match usual {
        Some(usual) if answer.is_empty() => Ok(usual),
        _ => positive(answer),
    };
    match said {
        Some(said) => positive(said).map_err(|why| PromptError::Wrong(format!("{what}: {why}"))),
        None => {
            let enter = usual.map_or(String::new(), |usual| format!(" (Enter for {})", usual.number()));
            right(prompter, &format!("{what}{enter}"), check)
        }
    }
}

fn positive(answer: &str) -> Result<Length, String> {
    let typed = number::<Length>(answer)?;
    // Ten kilometres: beyond every axis.
    if typed.value <= Length::ZERO || typed.value > Length::mm(10_000_000) {
        return Err(format!("{answer} is no length of a machine part"));
    }
    Ok(typed.value)
}

fn lengths(answer: &str) -> Result<Vec<Length>, String> {
    let all: Vec<Length> = answer.split_whitespace().map(positive).collect::<Result<_, _>>()?;
    if all.is_empty() { Err("at least one length".into()) } else { Ok(all) }
}
