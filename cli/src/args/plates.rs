//! `plates`.

use super::Searching;
use clap::Args as ClapArgs;
use std::path::PathBuf;

/// `plates`.
#[derive(Debug, ClapArgs)]
pub struct PlatesArgs {
    /// The folder with the farm's tables
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,

    /// Look at this part only; may be given several times [default: every part]
    #[arg(long = "part", value_name = "PART")]
    pub parts: Vec<String>,

    /// Most copies on a plate [default: as many as the largest known plate of the part and group]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=10_000), conflicts_with = "bed")]
    pub most: Option<u64>,

    /// The bed in millimetres, such as 220x220: as many copies as lie on it in straight rows
    #[arg(long, value_name = "WxD", value_parser = size, requires = "copy", requires = "parts")]
    pub bed: Option<(f64, f64)>,

    /// The room that one copy takes on the bed, in millimetres, with the gap to its neighbour
    #[arg(long, value_name = "WxD", value_parser = size, requires = "bed")]
    pub copy: Option<(f64, f64)>,

    /// Where to write plates.csv and the plan with it [default: DIR/plates]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,

    #[command(flatten)]
    pub searching: Searching,

    /// Print one JSON object on standard output instead of the tables
    #[arg(long)]
    pub json: bool,
}

fn size(word: &str) -> Result<(f64, f64), String> {
    let help = || "write two lengths in millimetres, such as 220x220".to_owned();
    let (width, depth) = word.split_once(['x', 'X']).ok_or_else(help)?;
    let length = |text: &str| text.trim().parse::<f64>().ok().filter(|l| *l > 0.0 && *l <= 100_000.0);
    length(width).zip(length(depth)).ok_or_else(help)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_two_lengths() {
        assert_eq!(size("220x180.5"), Ok((220.0, 180.5)));
        for word in ["220", "220x", "x", "0x5", "-1x5", "nanx5", "infx5", "1e9x5", ""] {
            assert!(size(word).is_err(), "{word}");
        }
    }
}
