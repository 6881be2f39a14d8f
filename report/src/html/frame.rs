//! The frame around every page: its head, the shared look, and what the browser may do with it.

use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use sha2::{Digest, Sha256};

/// The look that all pages share; a page adds its own after it.
pub const STYLE: &str = include_str!("../../templates/frame.css");

/// What `templates/frame.html` is filled with. A template extends that file and fills its block `page`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frame {
    /// The page's title, for the tab and the printed margin.
    pub title: String,
    /// A class of the body, for styles of one kind of page.
    pub kind: Option<&'static str>,
    /// The page's own style, after the shared one.
    pub style: &'static str,
    /// The page's own script, if it has one: ours, never anything out of a table.
    pub script: Option<&'static str>,
}

impl Frame {
    /// The shared style and the page's own.
    pub fn styles(&self) -> String {
        format!("{STYLE}{}", self.style)
    }

    /// The content security policy (W3C, Level 3): nothing is fetched, and no script runs but this page's, known by its
    /// digest. Escaping keeps names out of the markup; this would hold if it ever failed.
    pub fn policy(&self) -> String {
        let script = self.script.map_or_else(
            || "'none'".to_owned(),
            |script| format!("'sha256-{}'", BASE64_STANDARD.encode(Sha256::digest(script))),
        );
        format!(
            "default-src 'none'; style-src 'unsafe-inline'; img-src data:; script-src {script}; base-uri 'none'; \
             form-action 'none'"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The digest is the one of the specification's own example, `alert('Hello, world.');` (W3C, Content Security Policy
    /// Level 3, section 8.4).
    #[test]
    fn the_policy_knows_the_script_by_its_digest() {
        let frame = Frame { title: String::new(), kind: None, style: "", script: Some("alert('Hello, world.');") };
        let policy = frame.policy();
        assert!(policy.contains("'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"), "{policy}");
        assert!(Frame { script: None, ..frame }.policy().contains("script-src 'none'"));
    }
}
