//! Texts that try to be more than text: one or more for everything that reads what we write.

/// A hostile text. Each holds [`TOKEN`], so that a test can see whether it arrived at all. What it would bring into the
/// output if it came through is called `zq-…` or begins a line with `INJECTED`.
pub(crate) struct Hostile {
    pub class: &'static str,
    pub text: &'static str,
}

pub(crate) const TOKEN: &str = "zq7";

const fn hostile(class: &'static str, text: &'static str) -> Hostile {
    Hostile { class, text }
}

pub(crate) const ALL: &[Hostile] = &[
    hostile("terminal: colours, cursor", "zq7\u{1b}[31m\u{1b}[2J\u{1b}[1Azq7"),
    hostile("terminal: links (OSC 8)", "zq7\u{1b}]8;;https://h/\u{7}zq7\u{1b}]8;;\u{1b}\\"),
    hostile("terminal: clipboard and title (OSC 52, OSC 0)", "zq7\u{1b}]52;c;aGk=\u{7}\u{1b}]0;zq7\u{1b}\\"),
    hostile("terminal: eight-bit controls (C1)", "zq7\u{9b}31m\u{9d}0;zq7\u{9c}\u{90}\u{85}INJECTED"),
    hostile("terminal: backspace, delete, null", "zq7\u{8}\u{8}\u{7f}\u{0}\u{7}zq7"),
    hostile("bidirectional: overrides, isolates, marks", "zq7\u{202e}\u{2066}zq\u{2069}\u{202a}\u{61c}\u{200f}zq7"),
    hostile("unseen: zero-width, tags, fillers", "zq7\u{200b}\u{200d}\u{ad}\u{feff}\u{e0041}\u{3164}\u{180e}zq7"),
    hostile(
        "line breaks of every kind",
        "zq7\nINJECTED\r\nINJECTED\rINJECTED\u{2028}INJECTED\u{2029}INJECTED\u{b}INJECTED\u{c}INJECTED",
    ),
    hostile(
        "HTML: elements",
        "zq7<script>zq()</script><img src=x onerror=zq()><svg onload=zq()></svg><a href=//h>zq</a>",
    ),
    hostile(
        "HTML: out of an attribute, a style, a title",
        "zq7\" onmouseover=\"zq()\" x='y' --></style></script></title></svg><b>zq</b><!--",
    ),
    hostile("HTML: character references", "zq7&lt;b&gt;&#60;i&#62;&amp;lt;&NewLine;zq7"),
    hostile(
        "Markdown: links, images, mentions",
        "zq7 [zq-link](javascript:zq) ![zq-image](https://h/i) <https://h/zq> https://h/zq www.h.example @zq #12",
    ),
    hostile(
        "Markdown: emphasis, code, mathematics",
        "zq7 **zq-strong** _zq-emphasis_ `zq-code` ~~zq-struck~~ $zq-maths$ [zq-ref]: https://h/",
    ),
    hostile("Markdown: a table's cells", "zq7 | zq-cell \\| zq-cell \\\\| zq-cell |"),
    hostile(
        "Markdown: blocks",
        "zq7\n\n# zq-heading\n\n```\nzq-block\n```\n\n| zq-a | zq-b |\n|---|---|\n\n- zq-item\n\n> zq-quote\n\n<details>",
    ),
    hostile("Markdown: a heading in front", "# zq-heading zq7"),
    hostile("Markdown: a list in front", "1. zq-item zq7"),
    hostile("Markdown: a dash in front", "- zq-item zq7"),
    hostile("Markdown: a quotation in front", "> zq-quote zq7"),
    hostile("Markdown: a fence in front", "```zq-block zq7"),
    hostile("CSV: =", "=zq7()"),
    hostile("CSV: +", "+zq7"),
    hostile("CSV: -", "-zq7"),
    hostile("CSV: @", "@zq7"),
    hostile("CSV: tab", "\t=zq7"),
    hostile("CSV: carriage return", "\r=zq7"),
    hostile("CSV: other separators and quotes", "zq7;=zq()\",\"=zq()\t=zq()"),
    hostile("JSON, SARIF: out of the string, placeholders", "zq7\"}],\"zq\":[{\"{0}{{1}}[zq-link](1)\\"),
    hostile(
        "annotations: a command of its own",
        "zq7\n::error file=x::INJECTED\n##[error]INJECTED\n##vso[task]INJECTED",
    ),
    hostile("annotations: escapes", "zq7%0A::error::INJECTED%0D%25,title=zq::x"),
    hostile("annotations: a command in front", "::error file=x,line=1::INJECTED zq7"),
    hostile("KDL: out of the string", "zq7\" { zq 1 } /* // \"# zq7"),
    hostile("KDL: nodes, slashdash, annotations", "zq7 /- ; } zq { (zq)1 #true zq=1 } {"),
    hostile("shell", "zq7'; touch INJECTED; `touch INJECTED` $(touch INJECTED) \"$HOME\" && zq | zq > zq"),
    hostile("DXF: group codes", "zq7\n0\nEOF\r\n0\nLINE\n%%c zq7"),
];
