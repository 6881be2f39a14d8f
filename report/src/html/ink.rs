//! What tells parts apart on a chart: a colour, and a pattern for people and printers that cannot tell colours.
//!
//! The hues are the seven chromatic ones that M. Okabe and K. Ito chose so that people with any common colour vision can
//! tell them apart ("Color Universal Design", 2008), here as a tint to write on and a shade to draw with. Seven hues
//! and nine patterns have no common divisor, so the first 63 parts all differ.

/// A colour and a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink {
    /// The tint that fills a shape; black writing on it has a contrast above 7.
    pub fill: &'static str,
    /// The shade of the same hue that edges it and draws the pattern.
    pub shade: &'static str,
    /// The pattern as an SVG path in a tile of 8 by 8, to be stroked; empty for none.
    pub tile: &'static str,
}

/// Tints and shades of sky blue, orange, bluish green, reddish purple, yellow, blue and vermilion.
const HUES: [(&str, &str); 7] = [
    ("#a9d8f3", "#1b678f"),
    ("#f3cb7a", "#7d5600"),
    ("#8fd3bd", "#00614a"),
    ("#e6bad3", "#833a63"),
    ("#f3ec96", "#625d00"),
    ("#94bedf", "#004a75"),
    ("#f0ae84", "#8a3b09"),
];

/// Plain, rising, level, dots, upright, falling, chevrons, crossed, squared.
const TILES: [&str; 9] = [
    "",
    "M-1 9L9-1M-1 1L1-1M7 9L9 7",
    "M0 4H8",
    "M2 2h.01M6 6h.01",
    "M4 0V8",
    "M-1-1L9 9M-1 7L1 9M7-1L9 1",
    "M0 6L4 2L8 6",
    "M-1 9L9-1M-1-1L9 9",
    "M4 0V8M0 4H8",
];

/// The ink of the part at a position in the instance.
pub fn of_part(index: usize) -> Ink {
    let (fill, shade) = HUES.get(index % HUES.len()).copied().unwrap_or(("#ddd", "#444"));
    Ink { fill, shade, tile: TILES.get(index % TILES.len()).copied().unwrap_or_default() }
}

/// A small square of the ink for legends and tables: markup of ours. The index keeps pattern ids apart on one page.
pub fn swatch(index: usize) -> String {
    let Ink { fill, shade, tile } = of_part(index);
    format!(
        "<svg class=\"swatch\" viewBox=\"0 0 24 16\" aria-hidden=\"true\"><defs><pattern id=\"ink{index}\" width=\"8\" \
         height=\"8\" patternUnits=\"userSpaceOnUse\"><path d=\"{tile}\" stroke=\"{shade}\" stroke-width=\"1.6\" \
         stroke-linecap=\"round\" fill=\"none\"/></pattern></defs><rect x=\".5\" y=\".5\" width=\"23\" height=\"15\" \
         fill=\"{fill}\"/><rect x=\".5\" y=\".5\" width=\"23\" height=\"15\" fill=\"url(#ink{index})\" \
         stroke=\"{shade}\"/></svg>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn the_first_sixty_three_parts_all_differ() {
        let inks: HashSet<_> = (0..63).map(of_part).map(|ink| (ink.fill, ink.tile)).collect();
        assert_eq!(inks.len(), 63);
    }

    /// Relative luminance and contrast as WCAG 2.1 defines them.
    #[test]
    fn black_can_be_read_on_every_tint_and_every_shade_stands_out_on_its_tint() {
        let luminance = |hex: &str| {
            let channel = |at: usize| {
                let c = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
                if c <= 0.03928 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
        };
        for (tint, shade) in HUES {
            let (tint, shade) = (luminance(tint), luminance(shade));
            assert!((tint + 0.05) / 0.05 > 7.0);
            assert!((tint + 0.05) / (shade + 0.05) > 3.0);
            assert!(1.05 / (shade + 0.05) > 4.5, "the shade edges a shape on white paper");
        }
    }
}
