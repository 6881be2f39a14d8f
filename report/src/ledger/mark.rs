//! The mark that tells the lots of one plan from those of another.
//!
//! A plan made anew numbers its bags from 1 again, and labels of the old one may still be on the shelf. So every lot's
//! number ends with four characters that follow from all that decides what is in it.

use platewright_model::Plan;
use sha2::{Digest, Sha256};

/// The plan's mark: four upper-case hexadecimal digits of a SHA-256 over its tables, its runs and its allocation.
pub(super) fn of(plan: &Plan) -> String {
    let mut hash = Sha256::new();
    // A length before each text, so that no two lists of texts read the same.
    let mut take = |text: &str| {
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text.as_bytes());
    };
    take(&plan.instance_digest);
    for run in &plan.runs {
        take(&run.run);
        take(&run.printer);
        take(&run.plate);
        take(&run.harvest_to.0.to_string());
    }
    for row in &plan.allocation {
        take(row.source.name());
        take(&row.part);
        take(&row.shipment);
        take(&row.count.to_string());
    }
    hash.finalize().iter().take(2).map(|byte| format!("{byte:02X}")).collect()
}
