//! Scratch.
use platewright_solver::columns::bound::{Effort, Relaxation};
use platewright_solver::problem::Problem;
use std::time::Instant;
fn cpu() -> f64 {
    let s = std::fs::read_to_string("/proc/self/stat").unwrap();
    let f: Vec<&str> = s.rsplit(')').next().unwrap().split_whitespace().collect();
    (f[11].parse::<f64>().unwrap() + f[12].parse::<f64>().unwrap()) / 100.0
}
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let instance = platewright_model::tables::read(std::path::Path::new(&a[1])).unwrap();
    let slot: i32 = a[2].parse().unwrap();
    let until: i32 = a[3].parse().unwrap();
    let tied = a[4] == "tied";
    let rounds: usize = a[5].parse().unwrap();
    let problem = Problem::new(&instance);
    let open = vec![problem.horizon; problem.orders.len()];
    let mut r = Relaxation::new(&problem, &open, slot);
    if tied {
        r = r.tied(until);
    }
    let _ = Instant::now();
    println!(
        "rows {} needs {} cuts {} cpu {}",
        r.rows().ties.iter().max().unwrap() + 1,
        r.rows().needs.len(),
        r.rows().cuts.len(),
        cpu()
    );
    let effort = Effort { rounds, finest: slot, coarsest: slot };
    let b = r.climb(0, until, &[], None, effort, &|m| {
        let _ = m;
        false
    });
    println!("\nbound {} closed {} rounds {} cpu {}", b.makespan, b.closed, b.rounds, cpu());
    let columns = b.columns.iter().filter(|c| c.1 > 1e-9).map(|c| c.0.clone()).collect();
    let fin: usize = a[6].parse().unwrap();
    let m = r.refine(&b, until, columns, Effort { rounds: fin, finest: 3, coarsest: slot }, &|_| false);
    println!("refined {m} cpu {}", cpu());
    let s = std::fs::read_to_string("/proc/self/status").unwrap();
    println!("{}", s.lines().find(|l| l.starts_with("VmHWM")).unwrap());
}
