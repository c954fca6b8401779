//! Nodes that are added to a text and taken out of it.

#[test]
fn nodes_are_added_and_taken_out_as_the_text_is_laid_out() {
    use crate::facts::lines::LineEdits;
    use crate::text::{NodeRef, ReadLimits, Span, apply, read};
    let changed = |text: &str, change: &dyn Fn(&mut LineEdits, &[NodeRef])| {
        let document = read(text.to_string(), &ReadLimits::default()).document;
        let rail = document.nodes().next().expect("a rail");
        let nodes: Vec<NodeRef> = std::iter::once(rail).chain(rail.children()).collect();
        let mut lines = LineEdits::new(text);
        change(&mut lines, &nodes);
        apply(text, &lines.edits).expect("edits that fit")
    };
    let new = ["c 3".to_string(), "d 4".to_string()];
    let span = |node: &NodeRef| -> Span { node.span() };
    // Side by side.
    let replace = |lines: &mut LineEdits, nodes: &[NodeRef]| {
        lines.before(span(&nodes[1]), &new);
        nodes[1..].iter().for_each(|node| lines.remove(node.span()));
    };
    assert_eq!(changed("r { a 1; b 2 }", &replace), "r { c 3; d 4;  }");
    assert_eq!(changed("r { a 1; b 2; }\n", &replace), "r { c 3; d 4; }\n");
    // One a line, with comments and the line breaks of another system.
    let text = "r {\r\n  // of a\r\n  a 1 // kept\r\n  b 2\r\n}\r\n";
    assert_eq!(changed(text, &replace), "r {\r\n  c 3\r\n  d 4\r\n  // of a\r\n   // kept\r\n}\r\n");
    let after = |lines: &mut LineEdits, nodes: &[NodeRef]| lines.after(span(&nodes[1]), &new);
    assert_eq!(changed("r {\n\ta 1 // kept\n}\n", &after), "r {\n\ta 1 // kept\n\tc 3\n\td 4\n}\n");
    assert_eq!(changed("r { a 1 }", &after), "r { a 1; c 3; d 4 }");
    // In a block that is not there yet, is empty, or has a comment behind its brace.
    let first = |lines: &mut LineEdits, nodes: &[NodeRef]| lines.first_in(nodes[0], &new);
    assert_eq!(changed("  r 1 // one\n", &first), "  r 1 {\n      c 3\n      d 4\n  } // one\n");
    assert_eq!(changed("r { }\n", &first), "r {\n    c 3\n    d 4\n}\n");
    assert_eq!(changed("r { // one\n  a\n}\n", &first), "r { // one\n  c 3\n  d 4\n  a\n}\n");
    assert_eq!(changed("r { a }\n", &first), "r { c 3; d 4; a }\n");
    let out = |lines: &mut LineEdits, nodes: &[NodeRef]| lines.comment_out(span(&nodes[1]));
    assert_eq!(changed("r { a 1; b 2 }", &out), "r { /-a 1; b 2 }");
    let swap = |lines: &mut LineEdits, nodes: &[NodeRef]| {
        lines.put(span(&nodes[1]), span(&nodes[2]));
        lines.put(span(&nodes[2]), span(&nodes[1]));
    };
    assert_eq!(changed("r {\n a 1 // one\n b 2\n}", &swap), "r {\n b 2\n a 1 // one\n}");
}
