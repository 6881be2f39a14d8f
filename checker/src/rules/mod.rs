//! The rules of a valid plan: one function each, one file per family.

mod after;
mod claims;
mod downtime;
mod log;
mod machines;
mod packing;
mod people;
mod readiness;
mod spares;
mod supply;
mod unattended;

use crate::breach::Breach;
use crate::case::Case;
use platewright_model::Rule;

/// All breaches of one rule. A rule that someone forgets here does not compile.
pub(crate) fn breaches(rule: Rule, case: &Case) -> Vec<Breach> {
    match rule {
        Rule::Handling => people::handling(case),
        Rule::Operator => people::operator(case),
        Rule::Printer => machines::printer(case),
        Rule::Ready => machines::ready(case),
        Rule::Group => machines::group(case),
        Rule::Material => machines::material(case),
        Rule::Downtime => downtime::downtime(case),
        Rule::Unattended => unattended::unattended(case),
        Rule::Release => supply::release(case),
        Rule::After => after::after(case),
        Rule::Allocation => supply::allocation(case),
        Rule::Spares => spares::spares(case),
        Rule::Pack => packing::pack(case),
        Rule::Readiness => readiness::readiness(case),
        Rule::Bag => supply::bag(case),
        Rule::Log => log::log(case),
        Rule::Claim => claims::claim(case),
    }
}
