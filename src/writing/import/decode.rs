//! From bytes to text, by the encoding that the mapping states. Nothing is replaced by a stand-in character.

/// How letters are coded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Encoding {
    #[default]
    Utf8,
    /// Little end first, unless a byte order mark says otherwise.
    Utf16,
    /// ISO 8859-1: a byte a letter.
    Latin1,
}

/// Why bytes are no text in the stated encoding.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DecodeError {
    /// From this byte on it is not UTF-8, which is what was stated, or meant where nothing was.
    #[error(
        "byte {0} is not UTF-8: state encoding=latin-1 or encoding=utf-16 in the mapping, or export again as UTF-8"
    )]
    NotUtf8(usize),
    /// It begins with the byte order mark of UTF-16, and another encoding is stated or meant.
    #[error("it begins like UTF-16: state encoding=utf-16 in the mapping")]
    LooksUtf16,
    /// From this byte on it is not UTF-16: half a character.
    #[error("byte {0} is not UTF-16: state its encoding in the mapping")]
    NotUtf16(usize),
    /// This byte is a control character, which no text in ISO 8859-1 holds.
    #[error("byte {0} is no letter of ISO 8859-1: state its encoding in the mapping")]
    NotLatin1(usize),
}

/// The text, without its byte order mark.
pub(crate) fn decode(bytes: &[u8], encoding: Encoding) -> Result<String, DecodeError> {
    match encoding {
        Encoding::Utf8 => {
            if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
                return Err(DecodeError::LooksUtf16);
            }
            let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
            let text = std::str::from_utf8(bytes).map_err(|why| DecodeError::NotUtf8(why.valid_up_to()))?;
            Ok(text.to_owned())
        }
        Encoding::Utf16 => {
            let (big, body) = match bytes {
                [0xFE, 0xFF, rest @ ..] => (true, rest),
                [0xFF, 0xFE, rest @ ..] => (false, rest),
                _ => (false, bytes),
            };
            let skipped = bytes.len() - body.len();
            if body.len() % 2 == 1 {
                return Err(DecodeError::NotUtf16(bytes.len() - 1));
            }
            let units = body.chunks_exact(2).map(|pair| match big {
                true => u16::from_be_bytes([pair[0], pair[1]]),
                false => u16::from_le_bytes([pair[0], pair[1]]),
            });
            let mut text = String::with_capacity(body.len() / 2);
            let mut at = skipped;
            for letter in char::decode_utf16(units) {
                let letter = letter.map_err(|_| DecodeError::NotUtf16(at))?;
                at += 2 * letter.len_utf16();
                text.push(letter);
            }
            Ok(text)
        }
        Encoding::Latin1 => match bytes.iter().position(|byte| matches!(byte, 0x80..=0x9F)) {
            Some(at) => Err(DecodeError::NotLatin1(at)),
            None => Ok(bytes.iter().map(|byte| char::from(*byte)).collect()),
        },
    }
}
