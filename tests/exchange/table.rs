//! Tables of numbers, well-formed and hostile.

use obliquity_exchange::{FileErrorKind, parse_table, read_table};
use obliquity_planning::{PatternKind, Table};
use proptest::prelude::*;

fn corners() -> Table {
    PatternKind::Corridor.about().table.expect("a corridor is read from its corners")
}

fn read(text: &str) -> Vec<Vec<f64>> {
    parse_table(text, "t.csv", &corners()).unwrap_or_else(|error| panic!("{error}"))
}

fn refused(text: &str) -> String {
    parse_table(text, "t.csv", &corners()).expect_err(text).to_string()
}

/// Derived: by hand.
#[test]
fn columns_are_found_by_their_names() {
    let wanted = vec![vec![1.5, -2.0], vec![3.0, 4e2]];
    assert_eq!(read("x_m,y_m\n1.5,-2\n3,4e2\n"), wanted);
    assert_eq!(read("\"y_m\" ; z ;\"x_m\"\r\n-2;;1.5\r\n\r\n \"400\";high;3"), wanted);
}

#[test]
fn what_cannot_be_read_is_told_with_its_place() {
    assert!(refused("").contains("must hold corners of the line, but it is empty"));
    assert!(
        refused("\n x_m,z_m\n1,2\n3,4")
            .starts_with("t.csv:2:1: the first line must name the columns x_m, y_m, but \"y_m\"")
    );
    assert!(refused("x_m,y_m,x_m\n1,2,3\n4,5,6").contains("\"x_m\" comes again"));
    assert!(refused("x_m,y_m\n1,2\n3").starts_with("t.csv:3:3: a number of y_m must stand in this row"));
    assert!(
        refused("x_m,y_m\n1,2\nø,4")
            .starts_with("t.csv:3:1: x_m must be a number with a point, but it is \"ø\"")
    );
    assert!(refused("é,x_m,y_m\né,1,2\né,3,1.2.3").starts_with("t.csv:3:5: y_m"), "in characters");
    for odd in ["NaN", "inf", "-inf", "1e999", "0x10", "", "--1"] {
        assert!(refused(&format!("x_m,y_m\n1,2\n3,{odd}")).contains("y_m"), "{odd}");
    }
    assert!(
        refused("x_m,y_m\n1,2\n3,1,5")
            .starts_with("t.csv:3:5: there must be at most as many cells as names (2)")
    );
    assert!(refused("x_m,y_m\n1,2").contains("at least 2 rows of corners of the line"));
    let long = "1,2\n".repeat(corners().most + 1);
    let error = parse_table(&format!("x_m,y_m\n{long}"), "t.csv", &corners()).expect_err("too many");
    assert_eq!(error.kind, FileErrorKind::TooLarge);
    assert!(read_table(std::path::Path::new("/nowhere/t.csv"), &corners()).is_err());
}

proptest! {
    /// Whatever stands there, an answer comes, and no number that is none.
    #[test]
    fn anything_is_answered(text in "(x_m,y_m\n)?[-0-9eE.,;\"\n\r a\u{e9}]{0,200}") {
        if let Ok(rows) = parse_table(&text, "t.csv", &corners()) {
            prop_assert!(rows.iter().all(|row| row.len() == 2 && row.iter().all(|value| value.is_finite())));
        }
    }

    /// Numbers come back to the last bit.
    #[test]
    fn numbers_survive(rows in prop::collection::vec((-1e4..1e4f64, -1e4..1e4f64), 2..40)) {
        let lines: Vec<String> = rows.iter().map(|(x, y)| format!("{y},0,{x}")).collect();
        let text = format!("y_m,z_m,x_m\n{}", lines.join("\n"));
        let wanted: Vec<Vec<f64>> = rows.iter().map(|(x, y)| vec![*x, *y]).collect();
        prop_assert_eq!(read(&text), wanted);
    }
}
