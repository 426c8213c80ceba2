//! What a file may leave out, and what then holds.

use crate::sample;
use obliquity_exchange::parse_scenario;
use obliquity_planning::{
    Accuracy, AttendedRates, Brown, ByClass, Charging, Conditions, Gnss, Rates, Requirement, Spread,
    StageRates, Supply, Survey, ViewRules,
};
use proptest::prelude::*;
use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;
use std::fmt::Debug;

/// Every place of an object's field that is not inside a list, by its steps.
fn fields(value: &Value) -> Vec<Vec<String>> {
    let Value::Object(members) = value else { return Vec::new() };
    let deeper = |(name, inner): (&String, &Value)| {
        let mut found = vec![vec![name.clone()]];
        found.extend(fields(inner).into_iter().map(|rest| [vec![name.clone()], rest].concat()));
        found
    };
    members.iter().flat_map(deeper).collect()
}

fn take_out(value: &mut Value, steps: &[String]) {
    let Value::Object(members) = value else { return };
    match steps {
        [last] => drop(members.remove(last)),
        [first, rest @ ..] => members.get_mut(first).into_iter().for_each(|inner| take_out(inner, rest)),
        [] => {}
    }
}

/// Takes out of a default what the bits say, and reads what is left.
fn read_in_part<T>(bits: u64, spared: &[&str]) -> (Vec<String>, T)
where
    T: Default + Serialize + DeserializeOwned,
{
    let mut value = serde_json::to_value(T::default()).unwrap();
    let is_spared = |steps: &Vec<String>| spared.contains(&steps.join(".").as_str());
    let all = fields(&value).into_iter().filter(|steps| !is_spared(steps)).enumerate();
    let gone: Vec<Vec<String>> =
        all.filter(|(bit, _)| bits >> (bit % 64) & 1 == 1).map(|(_, steps)| steps).collect();
    for steps in &gone {
        take_out(&mut value, steps);
    }
    let told: Vec<String> = gone.iter().map(|steps| steps.join(".")).collect();
    let read = serde_json::from_value(value).unwrap_or_else(|error| panic!("without {told:?}: {error}"));
    (told, read)
}

fn stays<T>(bits: u64, spared: &[&str]) -> Result<(), TestCaseError>
where
    T: Default + Serialize + DeserializeOwned + PartialEq + Debug,
{
    let (told, read) = read_in_part::<T>(bits, spared);
    prop_assert_eq!(read, T::default(), "without {:?}", told);
    Ok(())
}

proptest! {
    /// Derived: a default without some of its fields, whichever, is the default again. Spared is what a requirement does
    /// not ask for when it is left out: its time, and the coverage of single classes.
    #[test]
    fn whatever_is_left_out_has_its_default(bits in any::<u64>()) {
        stays::<Conditions>(bits, &["wind", "wind.speed_mps", "wind.from_deg"])?;
        stays::<Spread>(bits, &[])?;
        stays::<Rates>(bits, &[])?;
        stays::<StageRates>(bits, &[])?;
        stays::<AttendedRates>(bits, &[])?;
        stays::<ViewRules>(bits, &[])?;
        stays::<Gnss>(bits, &[])?;
        stays::<Survey>(bits, &[])?;
        stays::<Accuracy>(bits, &[])?;
        stays::<Brown>(bits, &[])?;
        let not_asked =
            ["time_on_site_min", "coverage.ground", "coverage.roof", "coverage.wall", "coverage.underside"];
        stays::<Requirement>(bits, &not_asked)?;
    }
}

/// The sample with another text in place of its conditions.
fn with(conditions: &str) -> String {
    let start = sample::TEXT.find("  conditions: (").unwrap();
    format!("{}{conditions}\n)\n", &sample::TEXT[..start])
}

#[test]
fn conditions_and_requirement_are_given_in_part() {
    let text = with(
        "conditions: (battery_sets: 6, charging: (supply: Generator), spread: (turn_ratio: 0.2)),
         requirement: (gsd_cm: (wall: 3.0)), rates: (stages: (dense_h_per_gigapixel: 0.5)),",
    );
    let read = parse_scenario(&text, "part.ron").unwrap_or_else(|error| panic!("{error}"));
    let charging = Some(Charging::usual(Supply::Generator));
    let spread = Spread { turn_ratio: 0.2, ..Spread::default() };
    assert_eq!(read.conditions, Conditions { battery_sets: 6, charging, spread, ..Conditions::default() });
    let usual = Requirement::default();
    assert_eq!(read.requirement.gsd_cm, ByClass { wall: 3.0, ..usual.gsd_cm });
    assert_eq!((read.requirement.coverage, read.requirement.views), (usual.coverage, usual.views));
    assert_eq!(read.rates.stages, StageRates { dense_h_per_gigapixel: 0.5, ..StageRates::default() });
}

/// A requirement that names classes asks for those alone: what files of before said stays what they say.
#[test]
fn what_a_requirement_leaves_out_is_not_asked_for() {
    let text = with("requirement: (coverage: (ground: 0.9)),");
    let read = parse_scenario(&text, "part.ron").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(
        read.requirement.coverage,
        ByClass { ground: Some(0.9), roof: None, wall: None, underside: None }
    );
    assert_eq!((read.requirement.time_on_site_min, read.requirement.images), (None, None));
}

#[test]
fn a_name_that_is_not_known_is_refused_as_before() {
    for (text, told) in [
        ("conditions: (batteries: 6),", "there is no field \"batteries\" in Conditions"),
        ("requirement: (gsd_cm: (walls: 3.0)),", "there is no field \"walls\" in ByClass"),
        ("requirement: (gsd: 3.0),", "there is no field \"gsd\" in Requirement"),
        ("rates: (stages: (dense: 3.0)),", "there is no field \"dense\" in StageRates"),
        ("conditions: (spread: (wind: 3.0)),", "there is no field \"wind\" in Spread"),
        ("conditions: (survey: (height_m: 0.02)),", "there is no field \"height_m\" in Survey"),
        ("requirement: (accuracy: (horizontal_cm: 3.0)),", "there is no field \"horizontal_cm\" in Accuracy"),
    ] {
        let error = parse_scenario(&with(text), "part.ron").unwrap_err().to_string();
        assert!(error.contains(told), "{error}");
    }
}
