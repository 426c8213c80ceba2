//! Stands in for what planning will bring.
use obliquity_planning::*;
pub fn measure(id: MeasureId) -> &'static Measure {
    static M: Measure = Measure { id: MeasureId::FlightTime, name: "figure", explanation: "explained later", unit: Unit::Count, better: Better::Less, depth: Depth::Quick, read: |_| None };
    let _ = id; &M
}
pub fn compare_sentence(_: &Scenario, _: &[Outcome]) -> String { "Crossed strips is the quickest that meets the job: 52 min on site, 2 batteries; the nadir block misses the walls (1 of 80 %).".to_owned() }
