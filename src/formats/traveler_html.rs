//! A traveler as one HTML page that needs nothing else: to be printed on A4 or Letter, written on with a pen, and kept.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::clean;
use crate::views::cautions::{CAUTIONS, NO_SUBSTITUTE};
use crate::views::traveler::{Block, Cell, Joint, Section, Table, Traveler};

/// Narrow enough for either paper; no row, drawing or signature is cut by the end of a page.
const STYLE: &str = "
@page { margin: 14mm 13mm; }
* { box-sizing: border-box; }
body { font: 10pt/1.35 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif; color: #111; margin: 0 auto; max-width: 188mm; padding: 4mm; }
h1 { font-size: 17pt; margin: 0 0 2mm; }
h2 { font-size: 12.5pt; margin: 7mm 0 2mm; padding-bottom: 1mm; border-bottom: 1.2pt solid #111; }
h3 { font-size: 10.5pt; margin: 0 0 1mm; }
h2, h3 { break-after: avoid; }
p { margin: 1.2mm 0; orphans: 3; widows: 3; }
section > p { break-after: avoid; }
.facts { display: grid; grid-template-columns: repeat(3, 1fr); gap: 1.5mm 5mm; margin: 0 0 3mm; }
.facts div { border-bottom: .5pt solid #777; min-height: 8.5mm; break-inside: avoid; }
.facts span { display: block; font-size: 7.5pt; color: #444; }
.cautions { border: 1.5pt solid #111; padding: 2mm 4mm; break-inside: avoid; }
.cautions h2 { margin: 0 0 1mm; border: 0; }
.cautions ul { margin: 0; padding-left: 4mm; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border: .5pt solid #777; padding: .7mm 1.4mm; text-align: left; vertical-align: middle; overflow-wrap: anywhere; }
th { font-size: 8pt; background: #eee; overflow-wrap: normal; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
td { height: 6.5mm; }
td.number { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap; padding-right: 3mm; }
td.blank { min-width: 15mm; }
td.tick { text-align: center; width: 12mm; }
td.nothing { border-color: transparent; background: none; }
th.nothing { border-color: transparent; background: none; }
.box { display: inline-block; width: 4mm; height: 4mm; border: .9pt solid #111; text-align: center; line-height: 3.6mm; font-size: 9pt; vertical-align: -0.6mm; }
ul.steps { list-style: none; margin: 1mm 0; padding: 0; }
ul.steps li { break-inside: avoid; padding: .9mm 0 .9mm 7mm; text-indent: -7mm; }
ul.steps .box { margin-right: 3mm; text-indent: 0; }
.hold { border: 1.5pt solid #111; border-left-width: 4mm; padding: 1.5mm 3mm; margin: 3mm 0; break-inside: avoid; }
.hold b { letter-spacing: .05em; }
.line { display: flex; gap: 5mm; margin-top: 4mm; }
.line span { flex: 1; border-bottom: .5pt solid #777; font-size: 7.5pt; color: #444; min-height: 4mm; }
.joint { border: .5pt solid #777; padding: 2mm 3mm; margin: 3mm 0; break-inside: avoid; }
.joint .side { display: grid; grid-template-columns: 46mm 1fr; gap: 4mm; align-items: center; }
.joint svg { width: 46mm; height: auto; }
.joint table { margin: 1mm 0; }
@media print { body { padding: 0; max-width: none; } }
";

/// The whole page.
pub fn traveler(it: &Traveler) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Traveler: " (shown(&it.title)) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                h1 { "Traveler: " (shown(&it.title)) }
                div.facts {
                    @for (name, value) in &it.facts { div { span { (name) } (shown(value)) } }
                    @for name in ["Job number", "Fitter", "Inspector"] { div { span { (name) } } }
                }
                div.cautions {
                    h2 { "Cautions" }
                    ul { @for caution in CAUTIONS { li { b { (caution.title) "." } " " (caution.text) } } }
                    p { (NO_SUBSTITUTE) }
                }
                @for section in &it.sections { (self::section(section)) }
            }
        }
    };
    let mut page = page.into_string();
    page.push('\n');
    page
}

fn shown(text: &str) -> String {
    clean(text).into_owned()
}

fn section(it: &Section) -> Markup {
    html! {
        section {
            h2 { (shown(&it.title)) }
            @for block in &it.blocks {
                @match block {
                    Block::Text(text) => p { (shown(text)) },
                    Block::Steps(steps) => ul.steps {
                        @for step in steps { li { (tick(step.done)) (shown(&step.what)) } }
                    },
                    Block::Table(it) => (table(it)),
                    Block::Joint(it) => (joint(it)),
                    Block::Hold(text) => div.hold {
                        b { "HOLD POINT" } " " (shown(text))
                        (line(&["Name", "Date and time", "Signature"]))
                    },
                }
            }
        }
    }
}

fn tick(done: bool) -> Markup {
    html! { span.box { @if done { "✓" } } }
}

fn line(names: &[&str]) -> Markup {
    html! { div.line { @for name in names { span { (name) } } } }
}

fn table(it: &Table) -> Markup {
    html! {
        table {
            thead { tr { @for head in &it.head { th.nothing[head.is_empty()] { (shown(head)) } } } }
            tbody {
                @for cells in &it.rows {
                    tr {
                        @for cell in cells {
                            @match cell {
                                Cell::Text(text) => td { (shown(text)) },
                                Cell::Number(text) => td.number { (shown(text)) },
                                Cell::Blank => td.blank {},
                                Cell::Tick(done) => td.tick { (tick(*done)) },
                                Cell::Nothing => td.nothing {},
                            }
                        }
                    }
                }
            }
        }
    }
}

fn joint(it: &Joint) -> Markup {
    html! {
        div.joint {
            h3 { "Joint " (shown(&it.name)) ", " (shown(&it.place)) }
            p { (shown(&it.state)) ". Limit of each step: " (shown(&it.limit)) "." }
            div.side {
                (drawing())
                div {
                    table {
                        thead { tr { th { "Groove" } th { "Before (mm)" } th { "After (mm)" } th { "Step (mm)" } } }
                        tbody {
                            @for groove in &it.grooves {
                                tr {
                                    td { b { (groove.name) } }
                                    @for value in [&groove.before, &groove.after, &groove.step] {
                                        @match value {
                                            Some(value) => td.number { (shown(value)) },
                                            None => td.blank {},
                                        }
                                    }
                                }
                            }
                        }
                    }
                    p {
                        "Light: "
                        @match &it.light {
                            Some(light) => (shown(light)),
                            None => { (tick(false)) " none " (tick(false)) " seen" },
                        }
                    }
                }
            }
            (line(&["Gauge", "Reach (mm)", "Travel (mm)", "By", "Date"]))
        }
    }
}

/// The section of a rail with its four grooves, as seen along increasing position.
fn drawing() -> Markup {
    html! {
        svg viewBox="0 0 200 128" role="img" xmlns="http://www.w3.org/2000/svg" {
            title { "The four grooves of the rail as seen along increasing position: UL and UR above, LL and LR below" }
            path d="M66 10 H134 V24 L125 32 L134 40 V62 L125 70 L134 78 V104 H66 V78 L75 70 L66 62 V40 L75 32 L66 24 Z" fill="#eee" stroke="#111" stroke-width="1.6" {}
            path d="M88 10 V34 H94 V104 M112 10 V34 H106 V104" fill="none" stroke="#777" stroke-width="1" stroke-dasharray="4 3" {}
            path d="M36 104 H164" stroke="#111" stroke-width="1.6" {}
            @for x in [44, 60, 76, 92, 108, 124, 140, 156] { path d={ "M" (x) " 104 l-6 7" } stroke="#777" stroke-width="1" {} }
            @for (name, x, y, anchor, from, to) in [("UL", 32, 37, "end", 36, 66), ("UR", 168, 37, "start", 134, 164), ("LL", 32, 75, "end", 36, 66), ("LR", 168, 75, "start", 134, 164)] {
                path d={ "M" (from) " " (y - 5) " H" (to) } stroke="#111" stroke-width="1" {}
                text x=(x) y=(y) text-anchor=(anchor) font-size="14" font-weight="bold" font-family="Arial, sans-serif" { (name) }
            }
            text x="100" y="125" text-anchor="middle" font-size="10" font-family="Arial, sans-serif" { "seen along increasing position" }
        }
    }
}
