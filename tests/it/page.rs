//! The HTML page in a real browser: nothing on the console, nothing beside the page, pictures present and legible, and
//! all of it on paper. Needs Chromium, found as CHROMIUM, `chromium`, `chromium-browser` or `google-chrome`.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use wayledger::files::{self, Disk, find_all};
use wayledger::format::{fleet_paper, html, report_paper};
use wayledger::lint::lint;
use wayledger::papers::{Fleet, report};

use crate::common::{judge, today};

fn chromium() -> PathBuf {
    if let Some(given) = std::env::var_os("CHROMIUM") {
        return given.into();
    }
    let paths = std::env::var_os("PATH").unwrap_or_default();
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let mut all = std::env::split_paths(&paths).flat_map(|path| names.map(|name| path.join(name)));
    all.find(|path| path.is_file()).expect("no Chromium on this machine: install one, or name it in CHROMIUM")
}

fn browse(folder: &Path, arguments: &[&str], page: &Path) -> Output {
    Command::new(chromium())
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .args(["--enable-logging=stderr", "--v=0", "--virtual-time-budget=4000"])
        .arg(format!("--user-data-dir={}", folder.join("profile").display()))
        .args(arguments)
        .arg(format!("file://{}", page.display()))
        .output()
        .expect("Chromium runs")
}

/// What the page's script said on the console, and what the browser complained of.
fn console(output: &Output) -> Vec<String> {
    let errors = String::from_utf8_lossy(&output.stderr);
    errors.lines().filter(|line| line.contains("CONSOLE")).map(str::to_string).collect()
}

/// A machine of twelve joints and a hundred supports, some of it wrong and much of it open.
fn long() -> String {
    let mut text = String::from(
        "machine long { title \"A long axis of a long name that goes on for a while\"\n axis X { run from=0 to=24000\n stroke from=500 to=23500\n beam one { piece 9000; piece 9000; piece 6000 }\n",
    );
    for (rail, first) in [("upper-rail-of-all", 1000), ("b", 3000)] {
        let follows = if rail == "b" { " follows=upper-rail-of-all shims=narrow" } else { "" };
        text += &format!("rail {rail} beam=one{follows} {{ segment {first}; ");
        text += &"segment 3400; ".repeat(6);
        text +=
            &format!("segment {}; supports S first=120 pitch=240 count=100 length=80 }}\n", 24_000 - first - 6 * 3400);
    }
    text += "carriage length=600 { block b at=-200 length=80; block b at=200 length=80 } } }\n";
    for joint in 1..=6 {
        text += &format!(
            "inspect X.b.J{joint} date=\"2026-04-1{joint}\" by=i-1 {{ UL 0 -> 0.0{joint}; UR 0 -> -0.01; LL 0 -> 0.003 }}\n"
        );
    }
    text += "fasten X.b date=\"2026-04-01\" by=f-1 stage=full { at S1 10.5 13; at S2 9 #null; at S100 10.2 10.3 }\n";
    text += "fasten X.upper-rail-of-all date=\"2026-04-01\" by=f-1 stage=full setting=10.5 { clicked S1..S90 }\n";
    let stations: String =
        (1..=100).map(|n| format!("at S{n} {}.{:03}; ", if n % 3 == 0 { "-0" } else { "0" }, n)).collect();
    text += &format!("survey gap X.b date=\"2026-04-02\" by=i-1 stage=as-fitted {{ {stations} }}\n");
    let judged = judge(&[("machine.kdl", &text)], &[]);
    html(&report_paper(&report(&judged, today())))
}

/// The report on an example, and a page of many.
fn pages() -> Vec<(&'static str, String)> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let disk = Disk::at(&top).expect("the examples are there");
    let all = find_all(&disk, &[files::Path("boatyard".into())]).expect("they can be listed").found;
    let mut pages = Vec::new();
    let mut many = Fleet::new(today());
    lint(&disk, &all, today(), |judged| {
        if judged.is_shop {
            return;
        }
        many.add(&judged, today());
        if judged.path.0.ends_with("hull-gantry") {
            pages.push(("report", html(&report_paper(&report(&judged, today())))));
        }
    });
    assert_eq!(pages.len(), 1);
    pages.push(("fleet", html(&fleet_paper(&many))));
    pages.push(("long", long()));
    pages
}

/// Measures the page from inside and posts the figures to the frame around it.
const MEASURE: &str = r##"<script>
addEventListener('load', () => {
    const boxes = svg => [...svg.querySelectorAll('text')].map(it => [it.textContent, it.getBoundingClientRect()]);
    let colliding = [], outside = [];
    for (const svg of document.querySelectorAll('svg')) {
        const all = boxes(svg), frame = svg.getBoundingClientRect();
        all.forEach(([text, a], i) => {
            if (a.left < frame.left - 1 || a.right > frame.right + 1 || a.top < frame.top - 1 || a.bottom > frame.bottom + 1) outside.push(text);
            for (const [other, b] of all.slice(i + 1)) {
                const x = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const y = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (x > 1 && y > 4) colliding.push(text + ' / ' + other);
            }
        });
    }
    const svgs = [...document.querySelectorAll('svg')];
    parent.postMessage({
        width: innerWidth,
        content: document.documentElement.scrollWidth,
        pictures: svgs.length,
        visible: svgs.filter(it => it.getBoundingClientRect().width > 300 && it.getBoundingClientRect().height > 100).length,
        named: svgs.filter(it => it.getAttribute('role') === 'img' && it.querySelector('title')?.textContent && it.querySelector('desc')?.textContent).length,
        tables: document.querySelectorAll('table').length,
        headed: [...document.querySelectorAll('table')].filter(it => it.querySelector('thead th[scope=col]') && it.querySelector('tbody th[scope=row]')).length,
        background: getComputedStyle(document.body).backgroundColor,
        colliding, outside,
    }, '*');
});
</script></body>"##;

/// The figures of a page in a frame of some width.
fn measured(folder: &Path, page: &str, width: u32, dark: bool) -> serde_json::Value {
    // The page itself allows no script.
    let policy =
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">";
    assert!(page.contains(policy), "the page forbids everything it does not need");
    let inner = folder.join("inner.html");
    std::fs::write(&inner, page.replace(policy, "").replace("</body>", MEASURE)).expect("a file");
    let outer = folder.join("outer.html");
    let frame = format!(
        "<!DOCTYPE html><pre id=out></pre><iframe src=inner.html style='width:{width}px;height:900px;border:0'></iframe><script>addEventListener('message', it => out.textContent = '{{{{' + JSON.stringify(it.data) + '}}}}')</script>"
    );
    std::fs::write(&outer, frame).expect("a file");
    let scheme =
        if dark { "--blink-settings=preferredColorScheme=0" } else { "--blink-settings=preferredColorScheme=1" };
    let output = browse(folder, &["--dump-dom", "--window-size=1600,1000", scheme], &outer);
    let dom = String::from_utf8_lossy(&output.stdout).into_owned();
    let figures = dom.split("{{").nth(1).and_then(|rest| rest.split("}}<").next());
    let figures = figures.unwrap_or_else(|| panic!("the page posted nothing: {dom:.2000} {:?}", console(&output)));
    let figures = figures.replace("&quot;", "\"").replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">");
    serde_json::from_str(&figures).unwrap_or_else(|why| panic!("{why}: {figures}"))
}

#[test]
#[ignore = "needs Chromium; .ci/run runs it"]
fn the_page_holds_in_a_real_browser() {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, page) in pages() {
        let file = folder.path().join(format!("{name}.html"));
        std::fs::write(&file, &page).expect("a file");
        if let Some(kept) = std::env::var_os("KEEP_PAGES") {
            std::fs::write(Path::new(&kept).join(format!("{name}.html")), &page).expect("a file");
        }
        let plain = browse(folder.path(), &["--dump-dom"], &file);
        assert!(plain.status.success(), "{plain:?}");
        assert_eq!(console(&plain), Vec::<String>::new(), "{name}");
        let mut backgrounds = Vec::new();
        for (width, dark) in [(380, false), (1280, false), (1280, true)] {
            let it = measured(folder.path(), &page, width, dark);
            let about = format!("{name} at {width}: {it}");
            assert!(it["content"].as_u64() <= it["width"].as_u64(), "the page is pushed sideways: {about}");
            assert!(it["width"].as_u64().is_some_and(|it| it > 0 && it <= width.into()), "{about}");
            // Of a fleet its steps and what is due; of the report also straightness, height, running force, how the rails lie
            // and how long the blocks last.
            let pictures = match name {
                "fleet" => 2,
                "report" => 10,
                _ => 5,
            };
            assert_eq!(it["pictures"], pictures, "{about}");
            assert_eq!((&it["visible"], &it["named"]), (&it["pictures"], &it["pictures"]), "{about}");
            assert!(it["tables"].as_u64() > Some(2) && it["tables"] == it["headed"], "{about}");
            assert_eq!(it["colliding"].as_array().map(Vec::len), Some(0), "{about}");
            assert_eq!(it["outside"].as_array().map(Vec::len), Some(0), "{about}");
            backgrounds.push(it["background"].clone());
        }
        assert_eq!(backgrounds[0], backgrounds[1]);
        assert_ne!(backgrounds[1], backgrounds[2], "dark is another ground than light");
    }
}

#[test]
#[ignore = "needs Chromium; .ci/run runs it"]
fn the_checks_of_the_page_can_fail() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, page) = pages().remove(0);
    // A page that reaches out and runs a script: its own policy forbids both, and the console says so.
    let file = folder.path().join("reaching.html");
    std::fs::write(&file, page.replace("</body>", "<script>1</script><img src='x.png'></body>")).expect("a file");
    assert!(!console(&browse(folder.path(), &["--dump-dom"], &file)).is_empty());
    // One that is too wide, and one whose labels lie on each other.
    let wide = page.replace("<main>", "<main><div style='width:2000px'>x</div>");
    let it = measured(folder.path(), &wide, 380, false);
    assert!(it["content"].as_u64() > it["width"].as_u64(), "{it}");
    let twice = page.replacen("<text ", "<text x='500' y='60'>one on</text><text x='510' y='60'>other</text><text ", 1);
    let it = measured(folder.path(), &twice, 1280, false);
    assert_ne!(it["colliding"].as_array().map(Vec::len), Some(0), "{it}");
}

#[test]
#[ignore = "needs Chromium; .ci/run runs it"]
fn the_page_can_be_printed() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, page) = pages().remove(0);
    let file = folder.path().join("report.html");
    std::fs::write(&file, page).expect("a file");
    let paper = folder.path().join("report.pdf");
    let printed = browse(folder.path(), &[&format!("--print-to-pdf={}", paper.display())], &file);
    assert!(printed.status.success(), "{printed:?}");
    let text = Command::new("pdftotext").arg("-layout").arg(&paper).arg("-").output();
    let text = text.expect("pdftotext, of poppler-utils, reads the pages");
    let text = String::from_utf8_lossy(&text.stdout).into_owned();
    let pages = text.matches('\u{c}').count();
    assert!((4..=20).contains(&pages), "{pages} pages");
    // The last column of the widest tables is on the paper, and the cautions are.
    for word in
        ["Hull-sanding gantry: build report", "Wear gloves", "Permissible", "At use", "Wrench", "TW-2", "J2 4320"]
    {
        assert!(text.contains(word), "{word:?} is not on the paper: {text}");
    }
}
