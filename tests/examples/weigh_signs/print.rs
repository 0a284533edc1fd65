//! Fits scales and prints them as the files of `server/engine/src/conditions/weights` have them.

use dunlin_engine::conditions::{SIGN_NAMES, SIGNS};

use super::{
    lines::{self, QUANTILES},
    pairs::{self, Tables, quantiles},
    rows::Row,
};

/// Of the rows one in so many for the tables of pairs.
const PAIRS_EVERY: usize = 4;
/// Fewer seconds than this are too few for tables of pairs: they were learnt by heart, and found less.
const PAIRS_ROWS: usize = 50_000;

/// Fits one scale and prints it.
pub fn scale(about: &str, name: &str, rows: Vec<Row>) {
    let capsized = rows.iter().filter(|row| row.capsized).count();
    eprintln!("{name}: {} seconds looked at, {capsized} of them capsized", rows.len());
    let lines: Vec<Vec<f64>> = (0..SIGNS).map(|sign| quantiles(&rows, sign, &QUANTILES)).collect();
    let weights = lines::fit(&rows, &lines);
    println!(
        "//! The weight of each sign: value and ln odds. Written by `tests/examples/weigh_signs`, which fits them"
    );
    println!("//! on the fitting season; not to be changed by hand.\n");
    let pair = if rows.len() < PAIRS_ROWS { "" } else { "Pair, " };
    println!("use super::super::weigh::{{{pair}Scale, Weight}};\n");
    println!("/// {about}\n#[rustfmt::skip]\npub(crate) static {name}: Scale = Scale {{");
    println!("    before: {:.3},\n    weights: &[", weights[weights.len() - 1]);
    let mut start = 0;
    for (name, knots) in SIGN_NAMES.iter().zip(&lines) {
        let points: Vec<String> = knots
            .iter()
            .zip(&weights[start..])
            .map(|(at, weight)| format!("({at:?}, {weight:.3})"))
            .collect();
        let unknown = weights[start + knots.len()];
        println!(
            "        Weight {{ sign: {name:?}, unknown: {unknown:.3}, points: &[{}] }},",
            points.join(", ")
        );
        start += knots.len() + 1;
    }
    println!("    ],");
    match rows.len() < PAIRS_ROWS {
        true => println!("    lines: &[],\n    pairs: &[],"),
        false => print_pairs(rows, &lines, &weights),
    }
    println!("}};");
}

/// Fits the tables of pairs to what the lines leave over.
pub fn fit_pairs(rows: Vec<Row>, lines: &[Vec<f64>], weights: &[f64]) -> Tables {
    let rows: Vec<Row> = rows.into_iter().step_by(PAIRS_EVERY).collect();
    let alone: Vec<f64> = rows.iter().map(|row| lines::ln_odds(row, lines, weights)).collect();
    pairs::fit(&rows, &alone)
}

/// Fits the tables of pairs and prints them.
fn print_pairs(rows: Vec<Row>, lines: &[Vec<f64>], weights: &[f64]) {
    let tables = fit_pairs(rows, lines, weights);
    println!("    lines: &[");
    for lines in &tables.lines {
        println!("        &{lines:?},");
    }
    println!("    ],\n    pairs: &[");
    for ((a, b), values) in &tables.pairs {
        let values: Vec<String> = values.iter().map(|value| format!("{value:.3}")).collect();
        let (first, second) = (SIGN_NAMES[*a], SIGN_NAMES[*b]);
        println!(
            "        Pair {{ of: ({a}, {b}), ln_odds: &[{}] }}, // {first} and {second}",
            values.join(", ")
        );
    }
    println!("    ],");
}
