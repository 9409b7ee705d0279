//! A ZIP archive in memory: the container of a workbook. By PKWARE's APPNOTE 6.3.3: local headers, then the central
//! directory; sizes below 4 GiB. No dates: the same files give the same bytes.

/// Version of the format that a reader needs: 2.0, for deflated files.
const NEEDED: u16 = 20;
/// How files are packed: deflated.
const DEFLATED: u16 = 8;
/// Names are UTF-8.
const UTF8: u16 = 1 << 11;
/// 1 January 1980 at midnight, the first date that there is.
const DATE: [u16; 2] = [0, 0x21];
/// How hard files are packed, from 0 to 10.
const LEVEL: u8 = 6;

/// The files as one archive.
pub fn zip(files: &[(String, Vec<u8>)]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut directory = Vec::new();
    for (name, bytes) in files {
        let packed = miniz_oxide::deflate::compress_to_vec(bytes, LEVEL);
        let at = out.len() as u32;
        let mut shared = Vec::new();
        [NEEDED, UTF8, DEFLATED, DATE[0], DATE[1]].iter().for_each(|n| shared.extend(n.to_le_bytes()));
        [crc32fast::hash(bytes), packed.len() as u32, bytes.len() as u32]
            .iter()
            .for_each(|n| shared.extend(n.to_le_bytes()));
        shared.extend((name.len() as u16).to_le_bytes());
        // No extra field.
        shared.extend(0_u16.to_le_bytes());

        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(name.as_bytes());
        out.extend(packed);

        directory.extend(b"PK\x01\x02");
        directory.extend(NEEDED.to_le_bytes());
        directory.extend(shared);
        // No comment, on the first disk, no attributes.
        directory.extend([0; 10]);
        directory.extend(at.to_le_bytes());
        directory.extend(name.as_bytes());
    }
    let (at, count) = (out.len() as u32, files.len() as u16);
    let long = directory.len() as u32;
    out.extend(directory);
    out.extend(b"PK\x05\x06");
    out.extend([0; 4]);
    [count, count].iter().for_each(|n| out.extend(n.to_le_bytes()));
    [long, at].iter().for_each(|n| out.extend(n.to_le_bytes()));
    out.extend([0; 2]);
    out
}
