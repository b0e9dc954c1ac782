//! One hash, the same on every device, for every compiler and in every version.

/// The 64-bit FNV-1a hash (Fowler, Noll, Vo; offset basis and prime from memory, checked below).
pub fn fnv_1a(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test values that the hash's authors publish for the empty string, "a" and "foobar"
    /// (from memory).
    #[test]
    fn the_hash_is_fnv_1a() {
        assert_eq!(fnv_1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv_1a(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(fnv_1a(b"foobar"), 0x8594_4171_f739_67e8);
    }
}
