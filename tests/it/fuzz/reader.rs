//! The reader on any bytes: every span lies within the text and in order, no spelling is lost, every fault has a place.

use wayledger::kdl::{
    Document, NodeRef, Piece, ReadLimits, Span, Value, WholeText, canonical, quote, read, read_bytes, same_meaning,
};

pub(crate) fn check(bytes: &[u8]) {
    let limits = ReadLimits::default();
    let first = read_bytes(bytes.to_vec(), &limits);
    let (document, text) = (&first.document, first.document.text());
    assert!(bytes.starts_with(text.as_bytes()), "the text is the file's own, up to where it is text");
    let inside = |span: Span| {
        assert!(span.start <= span.end, "{span:?}");
        assert!(text.get(span.range()).is_some(), "{span:?} cuts a character or leaves the text");
    };
    let mut before = Span::default();
    for fault in &first.faults {
        inside(fault.span);
        if let Some((span, label)) = fault.also {
            inside(span);
            assert!(!label.is_empty());
        }
        assert!((before.start, before.end) <= (fault.span.start, fault.span.end), "faults stand in order");
        before = fault.span;
        assert!(!fault.message().is_empty() && !fault.help().is_empty());
    }
    for index in 0..document.len() {
        let node = document.node(index).expect("counted");
        check_node(node, text, first.faults.is_empty(), inside);
        let place = document.place(node.span().start);
        let start = node.span().start as usize;
        let line = text[..start].replace("\r\n", "\n").matches(['\n', '\r']).count() as u32 + 1;
        // Between CR and LF there is no new line yet.
        let split = text[..start].ends_with('\r') && text[start..].starts_with('\n');
        assert_eq!(place.line, line - u32::from(split), "line of {node:?}");
        let begins = text[..start].rfind(['\n', '\r']).map_or(0, |at| at + 1);
        assert_eq!(place.column as usize, text[begins..start].chars().count() + 1, "column of {node:?}");
    }
    let mut walked = 0;
    let mut open: Vec<_> = vec![document.nodes()];
    while let Some(nodes) = open.last_mut() {
        match nodes.next() {
            Some(node) => {
                walked += 1;
                assert_eq!(node.depth() + 1, open.len());
                open.push(node.children());
            }
            None => drop(open.pop()),
        }
    }
    assert_eq!(walked, document.len(), "walking from the top meets every node once");
    if first.faults.is_empty() {
        uncovered(document);
        cut(document);
        let written = canonical(document);
        let again = read(written.clone(), &limits);
        assert_eq!(again.faults, [], "{written}");
        assert_eq!(same_meaning(document, &again.document), None, "{written}");
        assert_eq!(canonical(&again.document), written);
    }
}

fn check_node(node: NodeRef, text: &str, sound: bool, inside: impl Fn(Span)) {
    let span = node.span();
    inside(span);
    inside(node.name_span());
    inside(node.head());
    let within = |inner: Span| assert!(span.start <= inner.start && inner.end <= span.end, "{inner:?} in {node:?}");
    within(node.name_span());
    if let Some((_, ty)) = node.ty() {
        inside(ty);
        within(ty);
    }
    if let Some(block) = node.block() {
        inside(block);
        within(block);
        assert!(text[block.range()].starts_with('{'));
        let mut last = block.start;
        for child in node.children() {
            // A second block is a fault, and what stands in it is read all the same.
            let end = if sound { block.end } else { span.end };
            assert!(last <= child.span().start && child.span().end <= end, "{child:?} in {node:?}");
            last = child.span().end;
        }
    } else {
        assert!(node.children().next().is_none());
    }
    let mut last = node.name_span().end;
    for entry in node.entries() {
        let (whole, value) = (entry.span(), entry.value_span());
        inside(whole);
        inside(value);
        within(whole);
        assert!(last <= whole.start && whole.start <= value.start && value.end == whole.end, "{entry:?} in {node:?}");
        last = whole.end;
        for part in [entry.name_span(), entry.ty().map(|(_, span)| span)].into_iter().flatten() {
            inside(part);
            assert!(whole.start <= part.start && part.end <= whole.end);
        }
        assert_eq!(entry.raw(), &text[value.range()]);
        match entry.value() {
            Value::Number(raw) => assert_eq!(raw, entry.raw(), "a number keeps its spelling"),
            Value::Text(text) if !entry.broken() => {
                let quoted = format!("a {}", quote(text));
                let again = read(quoted, &ReadLimits::default());
                let value = again.document.nodes().next().and_then(|node| node.args().next()).map(|arg| arg.value());
                assert_eq!((again.faults.len(), value), (0, Some(Value::Text(text))), "quoted and read again");
            }
            _ => {}
        }
    }
}

/// The pieces in a row are the text.
fn cut(document: &Document) {
    let whole = WholeText::from_document(document);
    let mut at = whole.pieces().offset();
    for piece in whole.pieces() {
        let span = match piece {
            Piece::Node(node) => Span { start: node.span().start, end: node.name_span().end },
            Piece::Entry(entry) => entry.span(),
            Piece::Between(_, span) => span,
        };
        assert!(span.start as usize == at && !span.is_empty(), "{piece:?} does not begin at {at}");
        at = span.end as usize;
    }
    assert_eq!(at, document.text().len());
}

/// Where nothing is left out or commented, only spaces and `;` stand outside of nodes.
fn uncovered(document: &Document) {
    let text = document.text();
    if text.contains(['/', '\\']) {
        return;
    }
    let mut at = 0;
    for node in document.nodes() {
        let between = &text[at..node.span().start as usize];
        assert!(
            between.chars().all(|c| c.is_whitespace() || matches!(c, ';' | '\u{feff}')),
            "{between:?} is in no node"
        );
        at = node.span().end as usize;
    }
    let rest = &text[at..];
    assert!(rest.chars().all(|c| c.is_whitespace() || matches!(c, ';' | '\u{feff}')), "{rest:?} is in no node");
}
