//! Between the `file:` URIs of the protocol (RFC 8089, RFC 3986) and the paths of a world.

/// The path that a `file:` URI names; nothing for another scheme, another host, or bytes that make no text.
pub(super) fn path_of(uri: &str) -> Option<String> {
    let rest = uri.strip_prefix("file://")?;
    let path = rest.strip_prefix("localhost").unwrap_or(rest);
    let path = path.split(['?', '#']).next()?;
    if !path.starts_with('/') {
        return None;
    }
    let decoded = decoded(path)?;
    // `/C:/yard` is `C:/yard`.
    let drive = matches!(decoded.as_bytes(), [b'/', letter, b':', ..] if letter.is_ascii_alphabetic());
    Some(if drive { decoded[1..].to_owned() } else { decoded })
}

/// The URI of an absolute path.
pub(super) fn uri_of(path: &str) -> String {
    // Where it parts no folders it is a letter of a name.
    let path = if cfg!(windows) { path.replace('\\', "/") } else { path.to_owned() };
    let mut uri = String::from(if path.starts_with('/') { "file://" } else { "file:///" });
    for byte in path.bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => uri.push(char::from(byte)),
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}

fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'%' => {
                let mut digit = || char::from(rest.next()?).to_digit(16);
                (digit()? << 4 | digit()?) as u8
            }
            _ => byte,
        });
    }
    String::from_utf8(bytes).ok().filter(|path| !path.contains('\0'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_and_uris_are_each_others_undoing() {
        for path in ["/", "/yard/shop.kdl", "/a b/ü%/c#d?.kdl", "/µ/𝄞.kdl", "C:/yard/shop.kdl", "/a\\b/c"] {
            assert_eq!(path_of(&uri_of(path)).as_deref(), Some(path));
        }
        // RFC 3986, 2.1: digits of either case; RFC 8089, 2: a host that is this one.
        assert_eq!(path_of("file:///a%2fb%2F").as_deref(), Some("/a/b/"));
        assert_eq!(path_of("file://localhost/a").as_deref(), Some("/a"));
        for other in ["untitled:1", "file://server/a", "file:///%", "file:///%zz", "file:///%ff", "file:///%00", ""] {
            assert_eq!(path_of(other), None, "{other}");
        }
    }
}
