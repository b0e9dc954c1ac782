//! Nothing in the source is there for tests alone.
//!
//! Of a library the compiler cannot know what others call. So the program is compiled here as one
//! crate, with the library's modules as its own: whatever it does not reach from `main` it says.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::root;

/// Put in beside the program, to see that what is unused is found.
const PLANTED: &str = "fn nobody_calls_this() {}\n";

/// The program as one crate, in links to what is here.
fn one_crate() -> PathBuf {
    let one = Path::new(env!("CARGO_TARGET_TMPDIR")).join("one_crate");
    let _ = std::fs::remove_dir_all(&one);
    std::fs::create_dir_all(one.join("src")).unwrap();
    let read = |name: &str| std::fs::read_to_string(root().join(name)).unwrap();
    let manifest = read("Cargo.toml");
    let (before, rest) = manifest.split_once("[[bench]]").unwrap();
    let after = rest.find("[lints.rust]").unwrap();
    std::fs::write(one.join("Cargo.toml"), format!("{before}{}", &rest[after..])).unwrap();
    let library = read("src/lib.rs");
    let modules = library.lines().filter(|line| line.starts_with("pub mod "));
    let modules: String = modules.map(|line| format!("{}\n", &line["pub ".len()..])).collect();
    // What `main` uses by the library's name is its own now, and beside it already.
    let own =
        read("src/main.rs").replace("waystock::", "crate::").replace("start::{self, ", "start::{");
    std::fs::write(one.join("src/main.rs"), own + &modules + PLANTED).unwrap();
    let sources = std::fs::read_dir(root().join("src")).unwrap().map(|entry| entry.unwrap());
    let names = sources.map(|entry| format!("src/{}", entry.file_name().display()));
    let names = names.filter(|name| name != "src/lib.rs" && name != "src/main.rs");
    for name in names.chain(["assets", "demo", "Cargo.lock"].map(String::from)) {
        std::os::unix::fs::symlink(root().join(&name), one.join(&name)).unwrap();
    }
    one
}

#[test]
fn nothing_is_called_by_tests_alone() {
    let check = Command::new(env!("CARGO"))
        .args(["check", "--locked", "--offline", "--message-format", "short"])
        .current_dir(one_crate())
        .env("CARGO_TARGET_DIR", Path::new(env!("CARGO_TARGET_TMPDIR")).parent().unwrap())
        .output()
        .unwrap();
    let said = String::from_utf8(check.stderr).unwrap();
    assert!(check.status.success(), "{said}");
    let mut unused: Vec<&str> = said.lines().filter(|line| line.contains("never")).collect();
    let planted = unused.iter().position(|line| line.contains("nobody_calls_this"));
    unused.remove(planted.unwrap_or_else(|| panic!("the planted one is not found: {said}")));
    assert!(unused.is_empty(), "{unused:#?}");
}
