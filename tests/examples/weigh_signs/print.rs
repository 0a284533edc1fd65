//! Fits scales and prints them as the files of `server/engine/src/conditions/weights` have them.

use dunlin_engine::conditions::{SIGN_NAMES, SIGNS};

use super::{
    lines::{self, QUANTILES},
    pairs,
    rows::{Row, quantiles},
    trees::{self, Tree, Trees},
};

/// Fewer seconds than this are too few for tables of pairs: they were learnt by heart, and found less.
const PAIRS_ROWS: usize = 50_000;
/// Fewer than this are too few for trees: of half a million with heel, of one water, they learnt all but a third of a
/// hundredth by heart.
const TREES_ROWS: usize = 2_000_000;
/// Of the rows one in so many for the tables of pairs.
const PAIRS_EVERY: usize = 4;

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
    let uses = match rows.len() {
        ..PAIRS_ROWS => "Scale, Together, Weight",
        PAIRS_ROWS..TREES_ROWS => "Pair, Scale, Together, Weight",
        _ => "Scale, Together, Tree, Weight",
    };
    println!("use super::super::weigh::{{{uses}}};\n");
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
    match rows.len() {
        ..PAIRS_ROWS => println!("    together: Together::Nothing,"),
        PAIRS_ROWS..TREES_ROWS => print_pairs(&rows, &lines, &weights),
        _ => print_trees(&rows, &lines, &weights),
    }
    println!("}};");
}

/// Fits the trees to what the lines leave over.
pub fn fit_trees(rows: &[Row], lines: &[Vec<f64>], weights: &[f64]) -> Trees {
    let alone: Vec<f64> = rows.iter().map(|row| lines::ln_odds(row, lines, weights)).collect();
    trees::fit(rows, alone)
}

/// Fits the trees and prints them.
fn print_trees(rows: &[Row], lines: &[Vec<f64>], weights: &[f64]) {
    let Trees { bounds, trees } = fit_trees(rows, lines, weights);
    println!("    together: Together::Trees {{ bounds: &[");
    for bounds in &bounds {
        println!("        &{bounds:?},");
    }
    println!("    ], trees: &[");
    for Tree { asks, says } in &trees {
        let text = format!("Tree {{ asks: &{asks:?}, says: &{says:?} }}").replace(", ", ",");
        println!("        {text},");
    }
    println!("    ] }},");
}

/// Fits the tables of pairs to what the lines leave over and prints them.
fn print_pairs(rows: &[Row], lines: &[Vec<f64>], weights: &[f64]) {
    let rows: Vec<Row> = rows.iter().step_by(PAIRS_EVERY).cloned().collect();
    let alone: Vec<f64> = rows.iter().map(|row| lines::ln_odds(row, lines, weights)).collect();
    let tables = pairs::fit(&rows, &alone);
    println!("    together: Together::Pairs {{ lines: &[");
    for lines in &tables.lines {
        println!("        &{lines:?},");
    }
    println!("    ], pairs: &[");
    for ((a, b), values) in &tables.pairs {
        let values: Vec<String> = values.iter().map(|value| format!("{value:.3}")).collect();
        let (first, second) = (SIGN_NAMES[*a], SIGN_NAMES[*b]);
        println!(
            "        Pair {{ of: ({a}, {b}), ln_odds: &[{}] }}, // {first} and {second}",
            values.join(", ")
        );
    }
    println!("    ] }},");
}
