//! A purchase as a workbook: its inputs on sheets, and formulas that come to the same results, so that anyone can follow and change
//! them without this program.

use crate::report::{NOT_ADVICE, purchase_sentence};
use obliquity_planning::money::{
    Firm, FleetCase, FleetMember, FleetYear, FreedHours, Holding, JobYear, Offer, Portfolio, Running,
    capital_recovery, sinking_fund,
};
use obliquity_planning::purchase::Purchase;
use rust_xlsxwriter::{Color, Format, Formula, Workbook, Worksheet, XlsxError};

/// What is below any amount: it stands for what a closed job leaves.
const CLOSED: f64 = -1e300;
/// The same as formulas write it.
const CLOSED_TEXT: &str = "-1E+300";
/// The first row with values; above it stand title and heads.
const FIRST: u32 = 2;

/// The columns of a row of one job.
const FLOWN: &str = "flown";
const BOUGHT_IN: &str = "bought in";
const SHUT: &str = "closed";

/// Stands for the hours at the workstation where the job sets none.
const AS_PROCESSED: &str = "as processed";

/// Places on the sheet of the firm.
const CREW: &str = "Firm!$B$3";
const CREW_WAGE: &str = "Firm!$B$4";
const ATTENDED_WAGE: &str = "Firm!$B$5";
const MACHINE_HOUR: &str = "Firm!$B$6";
const ROAD_KM: &str = "Firm!$B$7";
const DAYS: &str = "Firm!$B$11";
const HOURS: &str = "Firm!$B$10";
const INTEREST: &str = "Firm!$B$12";
const FREED: &str = "Firm!$B$13";
const SOLD_SHARE: &str = "Firm!$B$14";
const DAY_VALUE: &str = "Firm!$B$15";

/// What the hours that a fleet saves are, as formulas know them.
const NOT_PAID: &str = "not paid";
const SOLD: &str = "paid, sold as days";

/// How cells look.
struct CellLooks {
    title: Format,
    head: Format,
    input: Format,
    figure: Format,
    note: Format,
}

impl CellLooks {
    fn new() -> Self {
        CellLooks {
            title: Format::new().set_bold().set_font_size(14.0),
            head: Format::new().set_bold().set_text_wrap().set_background_color(Color::RGB(0xE4_E7_EA)),
            input: Format::new().set_background_color(Color::RGB(0xFF_F6_D5)).set_num_format("#,##0.00####"),
            figure: Format::new().set_num_format("#,##0.00"),
            note: Format::new().set_italic(),
        }
    }
}

/// A sheet that is being written.
struct SheetPen<'a> {
    sheet: &'a mut Worksheet,
    looks: &'a CellLooks,
}

impl SheetPen<'_> {
    fn heads(&mut self, title: &str, heads: &[&str]) -> Result<(), XlsxError> {
        self.sheet.write_with_format(0, 0, title, &self.looks.title)?;
        for (column, head) in (0..).zip(heads) {
            self.sheet.write_with_format(FIRST - 1, column, *head, &self.looks.head)?;
        }
        self.sheet.set_freeze_panes(FIRST, 1)?;
        Ok(())
    }

    fn text(&mut self, (row, column): (u32, u16), text: &str) -> Result<(), XlsxError> {
        self.sheet.write(row, column, text).map(drop)
    }

    fn input(&mut self, (row, column): (u32, u16), value: f64) -> Result<(), XlsxError> {
        self.sheet.write_with_format(row, column, value, &self.looks.input).map(drop)
    }

    fn input_text(&mut self, (row, column): (u32, u16), text: &str) -> Result<(), XlsxError> {
        self.sheet.write_with_format(row, column, text, &self.looks.input).map(drop)
    }

    /// A formula, with what it comes to for those who show a workbook without working it out.
    fn formula(&mut self, (row, column): (u32, u16), formula: &str, value: f64) -> Result<(), XlsxError> {
        let formula = Formula::new(formula).set_result(format!("{value}"));
        self.sheet.write_formula_with_format(row, column, formula, &self.looks.figure).map(drop)
    }

    /// The same of a text.
    fn text_formula(
        &mut self,
        (row, column): (u32, u16),
        formula: &str,
        text: &str,
    ) -> Result<(), XlsxError> {
        self.sheet.write_formula(row, column, Formula::new(formula).set_result(text)).map(drop)
    }
}

/// A row as formulas name it, from 1.
fn line(row: u32) -> u32 {
    row + 1
}

/// The whole case as a workbook (XLSX).
///
/// What is coloured are inputs; every other number is a formula. Only how jobs are flown (hours, batteries, who cannot) and the years
/// that are looked at are taken as they were worked out.
///
/// # Errors
/// Why it cannot be written, for people.
///
/// # References
/// Formulas as ECMA-376 (Office Open XML) part 1, 18.17, names them.
pub fn purchase_xlsx(portfolio: &Portfolio, purchase: &Purchase) -> Result<Vec<u8>, String> {
    workbook(portfolio, &purchase.case).map_err(|error| format!("the workbook cannot be written: {error}"))
}

fn workbook(portfolio: &Portfolio, case: &FleetCase) -> Result<Vec<u8>, XlsxError> {
    let looks = CellLooks::new();
    let mut book = Workbook::new();
    let counts = case.counts();
    let years: Vec<FleetYear> = (0..case.fleets.len()).map(|fleet| case.year(fleet, &counts)).collect();
    let sheets: [(&str, &SheetOf<'_>); 7] = [
        ("Answer", &|pen| answer(pen, portfolio, case, &years)),
        ("Firm", &|pen| firm(pen, &case.firm, case.study_years)),
        ("Jobs", &|pen| jobs(pen, case)),
        ("Fleets", &|pen| fleets(pen, case)),
        ("One job", &|pen| one_job(pen, case)),
        ("Year", &|pen| year(pen, case, &years)),
        ("Flows", &|pen| flows(pen, case)),
    ];
    for (name, write) in sheets {
        let sheet = book.add_worksheet().set_name(name)?;
        write(&mut SheetPen { sheet, looks: &looks })?;
        sheet.autofit();
        sheet.set_column_width(0, 34.0)?;
    }
    book.save_to_buffer()
}

/// Writes one sheet.
type SheetOf<'a> = dyn Fn(&mut SheetPen<'_>) -> Result<(), XlsxError> + 'a;

/// What hours are worth that a fleet saves, as the sheet names it.
fn freed_name(freed: FreedHours) -> &'static str {
    match freed {
        FreedHours::NotPaid => NOT_PAID,
        FreedHours::SoldAsDays { .. } => SOLD,
        FreedHours::Slack => "paid, not used",
    }
}

fn firm(pen: &mut SheetPen<'_>, firm: &Firm, study_years: u32) -> Result<(), XlsxError> {
    pen.heads("What holds for every job", &["", "value", ""])?;
    let (share, day_value) = match firm.freed {
        FreedHours::SoldAsDays { share, day_value } => (share, day_value),
        FreedHours::NotPaid | FreedHours::Slack => (0.0, 0.0),
    };
    let inputs = [
        ("people on site and on the road", firm.crew, ""),
        ("wage of one, an hour", firm.crew_wage_per_h, ""),
        ("wage at the workstation, an hour", firm.attended_wage_per_h, ""),
        ("workstation by itself, an hour", firm.machine_per_h, ""),
        ("a kilometre on the road", firm.road_per_km, "wages left out"),
        ("days a year to fly on, weather left out", firm.flying_days, ""),
        ("share of them that the weather leaves", firm.weather_share, ""),
        ("hours a day, road included", firm.hours_a_day, ""),
    ];
    for (row, (name, value, note)) in (FIRST..).zip(inputs) {
        pen.text((row, 0), name)?;
        pen.input((row, 1), value)?;
        pen.text((row, 2), note)?;
    }
    pen.text((10, 0), "days a year that can be worked on jobs")?;
    pen.formula((10, 1), "=B8*B9", firm.days())?;
    pen.text((11, 0), "interest a year")?;
    pen.input((11, 1), firm.interest)?;
    pen.text((12, 0), "hours that a fleet saves are")?;
    let name = freed_name(firm.freed);
    pen.input_text((12, 1), name)?;
    pen.text((12, 2), "not paid; paid, sold as days; or paid, not used")?;
    pen.text((13, 0), "share of whole freed days that is sold")?;
    pen.input((13, 1), share)?;
    pen.text((14, 0), "what a sold day leaves")?;
    pen.input((14, 1), day_value)?;
    pen.text((15, 0), "years that are looked at")?;
    pen.formula((15, 1), "=MAX(Flows!$C$2:$AZ$2)", f64::from(study_years))?;
    pen.text((16, 0), "amounts in")?;
    pen.text((16, 1), &firm.currency)
}

fn jobs(pen: &mut SheetPen<'_>, case: &FleetCase) -> Result<(), XlsxError> {
    let heads = [
        "kind of job",
        "jobs a year",
        "price",
        "road, h",
        "road, km",
        "control survey",
        "at workstation, h",
        "share of visits made again",
        "sign-off",
        "visits expected",
    ];
    pen.heads("Jobs of a year", &heads)?;
    for (row, job) in (FIRST..).zip(&case.jobs) {
        let money = &job.money;
        pen.text((row, 0), &job.name)?;
        let inputs = [job.count, money.price, money.road_h, money.road_km, money.control_survey];
        for (column, value) in (1..).zip(inputs) {
            pen.input((row, column), value)?;
        }
        match money.attended_h {
            Some(attended_h) => pen.input((row, 6), attended_h)?,
            None => pen.input_text((row, 6), AS_PROCESSED)?,
        }
        pen.input((row, 7), money.again_share)?;
        pen.input((row, 8), money.sign_off)?;
        pen.formula((row, 9), &format!("=1/(1-H{})", line(row)), money.visits())?;
    }
    Ok(())
}

/// How an aircraft is had, as the sheet of fleets names it.
fn holding_name(holding: &Holding) -> &'static str {
    match holding {
        Holding::Kept { .. } => "kept",
        Holding::Bought { .. } => "bought",
        Holding::Leased { .. } => "leased",
        Holding::Hired { .. } => "hired by the day",
        Holding::Subcontracted => "paid by the job",
    }
}

/// The members of all fleets in their order: fleet, member.
fn members(case: &FleetCase) -> impl Iterator<Item = (usize, &FleetMember)> {
    case.fleets.iter().enumerate().flat_map(|(at, fleet)| fleet.members.iter().map(move |own| (at, own)))
}

/// Rows of the sheet of fleets that a fleet takes, from and to.
fn member_rows(case: &FleetCase, fleet: usize) -> (u32, u32) {
    let before: usize = case.fleets[..fleet].iter().map(|fleet| fleet.members.len()).sum();
    let from = FIRST + before as u32;
    (from, from + case.fleets[fleet].members.len() as u32 - 1)
}

fn fleets(pen: &mut SheetPen<'_>, case: &FleetCase) -> Result<(), XlsxError> {
    let heads = [
        "fleet",
        "aircraft",
        "how it is had",
        "P: price, or what it would fetch today",
        "paid once",
        "S: resale at the end",
        "years (0: by the job)",
        "rent a year",
        "running a year",
        "losses a year",
        "a loss costs",
        "rent a day",
        "battery set",
        "cycles of a set",
        "a = i/(1-(1+i)^-n)",
        "s = i/((1+i)^n-1)",
        "own cost a year",
    ];
    pen.heads("Fleets, and what they cost to have", &heads)?;
    let interest = case.firm.interest;
    for (row, (fleet, member)) in (FIRST..).zip(members(case)) {
        let had = member.holding.own_terms().unwrap_or_default();
        let (n, i) = (line(row), INTEREST);
        pen.text((row, 0), &case.fleets[fleet].name)?;
        pen.text((row, 1), &member.name)?;
        pen.text((row, 2), holding_name(&member.holding))?;
        let Running { a_year, losses, deductible } = had.running;
        let inputs = [
            had.price,
            had.one_off,
            had.resale,
            had.years,
            had.rent,
            a_year,
            losses,
            deductible,
            member.holding.hire_a_day(),
            member.wear.set_price,
            member.wear.cycles,
        ];
        for (column, value) in (3..).zip(inputs) {
            pen.input((row, column), value)?;
        }
        let is_had = had.years > 0.0;
        let rate = |of: fn(f64, f64) -> f64| if is_had { of(interest, had.years) } else { 0.0 };
        let a = format!("=IF(G{n}=0,0,IF({i}=0,1/G{n},{i}/(1-(1+{i})^(-G{n}))))");
        pen.formula((row, 14), &a, rate(capital_recovery))?;
        let s = format!("=IF(G{n}=0,0,IF({i}=0,1/G{n},{i}/((1+{i})^G{n}-1)))");
        pen.formula((row, 15), &s, rate(sinking_fund))?;
        let cost = member.holding.own_cost(interest);
        let formula = format!("=IF(G{n}=0,0,(D{n}+E{n})*O{n}-F{n}*P{n}+H{n}+I{n}+J{n}*K{n})");
        pen.formula((row, 16), &formula, cost.total())?;
    }
    Ok(())
}

/// Rows of the sheet of one job that a kind of job of a fleet takes: one for each member.
fn job_rows(case: &FleetCase, fleet: usize, job: usize) -> (u32, u32) {
    let kinds = case.jobs.len();
    let before: usize = case.fleets[..fleet].iter().map(|fleet| fleet.members.len() * kinds).sum();
    let own = case.fleets[fleet].members.len();
    let from = FIRST + (before + job * own) as u32;
    (from, from + own as u32 - 1)
}

fn one_job(pen: &mut SheetPen<'_>, case: &FleetCase) -> Result<(), XlsxError> {
    let heads = [
        "fleet",
        "kind of job",
        "by",
        "done",
        "on site, h",
        "battery sets",
        "workstation, h",
        "paid for it",
        "a visit, h",
        "a visit, days",
        "crew",
        "travel",
        "control survey",
        "battery wear",
        "hire",
        "workstation",
        "at workstation",
        "visits again",
        "bought in",
        "sign-off",
        "one job leaves",
        "days",
        "wages in it",
        "at workstation, h, as processed",
    ];
    pen.heads("What one job brings and takes", &heads)?;
    for fleet in 0..case.fleets.len() {
        for job in 0..case.jobs.len() {
            let (from, _) = job_rows(case, fleet, job);
            let own = case.fleets[fleet].members.iter().enumerate();
            for (row, (place, member)) in (from..).zip(own) {
                let of = member_rows(case, fleet).0 + place as u32;
                one_row(pen, case, (row, of), (fleet, job), member)?;
            }
        }
    }
    Ok(())
}

fn one_row(
    pen: &mut SheetPen<'_>,
    case: &FleetCase,
    (row, of): (u32, u32),
    (fleet, job): (usize, usize),
    member: &FleetMember,
) -> Result<(), XlsxError> {
    let (n, own, kind) = (line(row), line(of), line(FIRST + job as u32));
    pen.text((row, 0), &case.fleets[fleet].name)?;
    pen.text((row, 1), &case.jobs[job].name)?;
    pen.text((row, 2), &member.name)?;
    let (state, facts, paid) = match member.offers[job] {
        Offer::Flown(facts) => (FLOWN, Some(facts), 0.0),
        Offer::BoughtIn { price } => (BOUGHT_IN, None, price),
        Offer::Closed => (SHUT, None, 0.0),
    };
    pen.text((row, 3), state)?;
    let inputs = [
        facts.map_or(0.0, |facts| facts.on_site_h),
        facts.map_or(0.0, |facts| facts.battery_cycles),
        facts.map_or(0.0, |facts| facts.machine_h),
        paid,
    ];
    for (column, value) in (4..).zip(inputs) {
        pen.input((row, column), value)?;
    }
    let terms = case.terms(member, job).unwrap_or_default();
    let visit_h = facts.map_or(0.0, |facts| facts.on_site_h + case.jobs[job].money.road_h);
    let visit_days = if terms.visits > 0.0 { terms.days / terms.visits } else { 0.0 };
    let when = |formula: &str| format!("=IF(D{n}=\"{FLOWN}\",{formula},0)");
    let fit = format!("INT({HOURS}/I{n}+1E-9)");
    let leaves = if state == SHUT { CLOSED } else { terms.contribution() };
    let rest = [
        (when(&format!("E{n}+Jobs!D{kind}")), visit_h),
        (when(&format!("IF({fit}>=1,1/{fit},ROUNDUP(I{n}/{HOURS}-1E-9,0))")), visit_days),
        (when(&format!("{CREW}*I{n}*{CREW_WAGE}")), terms.crew),
        (when(&format!("Jobs!E{kind}*{ROAD_KM}")), terms.travel),
        (when(&format!("Jobs!F{kind}")), terms.control_survey),
        (when(&format!("F{n}*Fleets!M{own}/Fleets!N{own}")), terms.battery_wear),
        (when(&format!("ROUNDUP(J{n}-1E-9,0)*Fleets!L{own}")), terms.hire),
        (when(&format!("G{n}*{MACHINE_HOUR}")), terms.machine),
        (when(&format!("IF(ISNUMBER(Jobs!G{kind}),Jobs!G{kind},X{n})*{ATTENDED_WAGE}")), terms.attended),
        (when(&format!("(Jobs!J{kind}-1)*(K{n}+L{n}+N{n}+O{n})")), terms.again),
        (format!("=H{n}"), terms.bought_in),
        (format!("=IF(D{n}=\"{SHUT}\",0,Jobs!I{kind})"), terms.sign_off),
        (format!("=IF(D{n}=\"{SHUT}\",{CLOSED_TEXT},Jobs!C{kind}-SUM(K{n}:T{n}))"), leaves),
        (when(&format!("Jobs!J{kind}*J{n}")), terms.days),
        (when(&format!("K{n}*Jobs!J{kind}+Q{n}")), terms.wages()),
    ];
    for (column, (formula, value)) in (8..).zip(rest) {
        pen.formula((row, column), &formula, value)?;
    }
    pen.input((row, 23), facts.map_or(0.0, |facts| facts.attended_h))
}

/// The row of the sheet of the year that a kind of job of a fleet has.
fn year_row(case: &FleetCase, fleet: usize, job: usize) -> u32 {
    FIRST + (fleet * case.jobs.len() + job) as u32
}

fn year(pen: &mut SheetPen<'_>, case: &FleetCase, years: &[FleetYear]) -> Result<(), XlsxError> {
    let heads = [
        "fleet",
        "kind of job",
        "no.",
        "best row",
        "done by",
        "one job leaves",
        "days of one",
        "wages in one",
        "leaves a day",
        "jobs done",
        "leave a year",
        "days a year",
        "wages saved against keeping",
    ];
    pen.heads("A year: each job by the cheapest of the fleet, what leaves most for a day first", &heads)?;
    for (fleet, own) in years.iter().enumerate() {
        for (job, of) in own.jobs.iter().enumerate() {
            year_line(pen, case, (fleet, job), (of, &years[0].jobs[job]))?;
        }
    }
    Ok(())
}

fn year_line(
    pen: &mut SheetPen<'_>,
    case: &FleetCase,
    (fleet, job): (usize, usize),
    (of, kept): (&JobYear, &JobYear),
) -> Result<(), XlsxError> {
    let row = year_row(case, fleet, job);
    let (n, kind) = (line(row), line(FIRST + job as u32));
    let (from, to) = job_rows(case, fleet, job);
    let (from, to) = (line(from), line(to));
    let column = |letter: &str| format!("'One job'!{letter}{from}:{letter}{to}");
    let (first, last) = (line(year_row(case, fleet, 0)), line(year_row(case, fleet, case.jobs.len() - 1)));
    let of_fleet = |letter: &str| format!("${letter}${first}:${letter}${last}");
    let counts = format!("Jobs!$B${}:$B${}", line(FIRST), line(FIRST + case.jobs.len() as u32 - 1));
    let terms = of.choice.map(|choice| choice.terms).unwrap_or_default();
    let (leaves, days) = if of.choice.is_some() { (terms.contribution(), terms.days) } else { (0.0, 0.0) };
    pen.text((row, 0), &case.fleets[fleet].name)?;
    pen.text((row, 1), &case.jobs[job].name)?;
    pen.sheet.write(row, 2, job as f64 + 1.0)?;
    let best = format!("=IF(MAX({0})<-1E+299,0,MATCH(MAX({0}),{0},0))", column("U"));
    pen.formula((row, 3), &best, of.choice.map_or(0.0, |choice| choice.member as f64 + 1.0))?;
    let by = of.choice.map_or("nobody", |choice| &case.fleets[fleet].members[choice.member].name);
    pen.text_formula((row, 4), &format!("=IF(D{n}=0,\"nobody\",INDEX({},D{n}))", column("C")), by)?;
    let pick = |letter: &str| format!("=IF(D{n}=0,0,INDEX({},D{n}))", column(letter));
    pen.formula((row, 5), &pick("U"), leaves)?;
    pen.formula((row, 6), &pick("V"), days)?;
    pen.formula((row, 7), &pick("W"), terms.wages())?;
    // a sheet has no number without end
    let worth = of.choice.map_or(CLOSED, |choice| choice.terms.contribution_a_day().min(-CLOSED));
    let formula = format!("=IF(D{n}=0,{CLOSED_TEXT},IF(G{n}>0,F{n}/G{n},1E+300))");
    pen.formula((row, 8), &formula, worth)?;
    let before = format!(
        "SUMPRODUCT((({i}>I{n})+({i}=I{n})*({no}<C{n}))*{counts}*{g})",
        i = of_fleet("I"),
        no = of_fleet("C"),
        g = of_fleet("G")
    );
    let done = format!("=IF(D{n}=0,0,IF(G{n}>0,MIN(Jobs!B{kind},MAX(0,{DAYS}-{before})/G{n}),Jobs!B{kind}))");
    pen.formula((row, 9), &done, of.done)?;
    pen.formula((row, 10), &format!("=J{n}*F{n}"), of.done * leaves)?;
    pen.formula((row, 11), &format!("=J{n}*G{n}"), of.done * days)?;
    let k = line(year_row(case, 0, job));
    let formula = format!("=MIN(J{k},J{n})*MAX(0,H{k}-H{n})+(J{k}-MIN(J{k},J{n}))*H{k}");
    pen.formula((row, 12), &formula, kept.wages_saved_by(of))
}

/// The column of a year on the sheet of flows, and as formulas name it.
fn year_column(year: u32) -> (u16, String) {
    let column = 2 + year as u16;
    (column, rust_xlsxwriter::utility::column_number_to_name(column))
}

/// The row of a fleet's own flows.
fn flow_row(case: &FleetCase, fleet: usize) -> u32 {
    FIRST + members(case).count() as u32 + 1 + fleet as u32
}

fn flows(pen: &mut SheetPen<'_>, case: &FleetCase) -> Result<(), XlsxError> {
    pen.heads(
        "What is laid out each year, and what a fleet brings more than the kept one",
        &["fleet", "aircraft"],
    )?;
    let years = case.study_years;
    for year in 0..=years {
        pen.sheet.write(FIRST - 1, year_column(year).0, f64::from(year))?;
    }
    let last = year_column(years).1;
    for (row, (fleet, member)) in (FIRST..).zip(members(case)) {
        pen.text((row, 0), &case.fleets[fleet].name)?;
        pen.text((row, 1), &member.name)?;
        let n = line(row);
        let life = format!("MAX(1,ROUND(Fleets!$G{n},0))");
        for (year, value) in (0..=years).zip(member.holding.outlays(years)) {
            let (column, letter) = year_column(year);
            let t = format!("{letter}$2");
            let formula = format!(
                "=IF(Fleets!$G{n}=0,0,IF({t}>0,Fleets!$H{n}+Fleets!$I{n}+Fleets!$J{n}*Fleets!$K{n},0)\
                 +IF(AND({t}<${last}$2,MOD({t},{life})=0),Fleets!$D{n}+Fleets!$E{n},0)\
                 -IF(AND({t}>0,OR(MOD({t},{life})=0,{t}=${last}$2)),\
                 Fleets!$D{n}+(Fleets!$F{n}-Fleets!$D{n})*IF(MOD({t},{life})=0,1,MOD({t},{life})/{life}),0))"
            );
            pen.formula((row, column), &formula, value)?;
        }
    }
    for fleet in 0..case.fleets.len() {
        let row = flow_row(case, fleet);
        pen.text((row, 0), &case.fleets[fleet].name)?;
        pen.text((row, 1), "more than keeping")?;
        let (own, kept) = (member_rows(case, fleet), member_rows(case, 0));
        let answer = line(FIRST + fleet as u32);
        for (year, value) in (0..=years).zip(case.flows(fleet)) {
            let (column, letter) = year_column(year);
            let sum = |(from, to): (u32, u32)| format!("SUM({letter}{}:{letter}{})", line(from), line(to));
            let formula =
                format!("=IF({letter}$2>0,Answer!$J{answer}+Answer!$I{answer},0)-{}+{}", sum(own), sum(kept));
            pen.formula((row, column), &formula, value)?;
        }
    }
    Ok(())
}

/// What stands where no number of jobs can be told by a formula.
const NO_TURN: &str = "no number turns it";
const NO_FORM: &str = "no formula: days of the year are full or sold; see the text";
const ALWAYS: &str = "the same at any number";
const BEYOND: &str = "beyond the days of a year";

/// At how many jobs of a kind the answer turns: the closed form, which holds while all jobs fit into the days of the year and none is
/// sold.
fn turning_cell(
    pen: &mut SheetPen<'_>,
    case: &FleetCase,
    years: &[FleetYear],
    (row, fleet, job): (u32, usize, usize),
) -> Result<(), XlsxError> {
    let (n, kind) = (line(row), line(FIRST + job as u32));
    let (own, kept) = (line(year_row(case, fleet, job)), line(year_row(case, 0, job)));
    let rows =
        |fleet: usize| (line(year_row(case, fleet, 0)), line(year_row(case, fleet, case.jobs.len() - 1)));
    let counts = format!("Jobs!$B${}:$B${}", line(FIRST), line(FIRST + case.jobs.len() as u32 - 1));
    let all = |fleet: usize| {
        let (from, to) = rows(fleet);
        format!("ABS(SUMPRODUCT((Year!D{from}:D{to}>0)*{counts})-SUM(Year!J{from}:J{to}))<1E-6")
    };
    let days = |fleet: usize, of: u32, jobs: &str| {
        let (from, to) = rows(fleet);
        format!("SUM(Year!L{from}:L{to})+({jobs}-Jobs!B{kind})*Year!G{of}<={DAYS}+1E-9")
    };
    let each =
        format!("(Year!F{own}-Year!F{kept}-IF({FREED}=\"{NOT_PAID}\",0,MAX(0,Year!H{kept}-Year!H{own})))");
    let jobs = format!("(Jobs!B{kind}-J{n}/{each})");
    let formula = format!(
        "=IF(ABS({each})<1E-6,\"{NO_TURN}\",IF(NOT(AND({FREED}<>\"{SOLD}\",{},{})),\"{NO_FORM}\",\
         IF({jobs}<0,\"{ALWAYS}\",IF(AND({},{}),{jobs},\"{BEYOND}\"))))",
        all(fleet),
        all(0),
        days(fleet, own, &jobs),
        days(0, kept, &jobs)
    );
    match turning_value(case, years, (fleet, job)) {
        Ok(value) => pen.formula((row, 13), &formula, value),
        Err(text) => pen.text_formula((row, 13), &formula, text),
    }
}

/// What that comes to.
fn turning_value(
    case: &FleetCase,
    years: &[FleetYear],
    (fleet, job): (usize, usize),
) -> Result<f64, &'static str> {
    let each = case.one_more(fleet, job);
    if each.abs() < 1e-6 {
        return Err(NO_TURN);
    }
    let all = |fleet: usize| {
        let jobs = years[fleet].jobs.iter().zip(&case.jobs);
        jobs.filter(|(of, _)| of.choice.is_some()).all(|(of, job)| (of.done - job.count).abs() < 1e-6)
    };
    let is_sold = matches!(case.firm.freed, FreedHours::SoldAsDays { .. });
    if is_sold || !all(fleet) || !all(0) {
        return Err(NO_FORM);
    }
    let count = case.jobs[job].count;
    let jobs = count - case.gain(fleet, &case.counts()).total() / each;
    let days = |fleet: usize| {
        let each = years[fleet].jobs[job].choice.map_or(0.0, |choice| choice.terms.days);
        years[fleet].days + (jobs - count) * each
    };
    match jobs {
        jobs if jobs < 0.0 => Err(ALWAYS),
        jobs if days(fleet).max(days(0)) <= case.firm.days() + 1e-9 => Ok(jobs),
        _ => Err(BEYOND),
    }
}

fn answer(
    pen: &mut SheetPen<'_>,
    portfolio: &Portfolio,
    case: &FleetCase,
    years: &[FleetYear],
) -> Result<(), XlsxError> {
    let heads = [
        "fleet",
        "jobs leave",
        "own cost",
        "result of a year",
        "jobs leave more",
        "wages saved, paid anyway",
        "whole days freed",
        "freed days sold",
        "own cost more",
        "more than keeping, a year",
        "net present value",
        "as the program put it when this was written: text that follows nothing",
        "kind of job that decides, as the program found it",
        "jobs of it a year at which the answer turns: the next whole number",
    ];
    pen.heads(&portfolio.name, &heads)?;
    let counts = case.counts();
    let (flow_from, flow_to) = (year_column(0).1, year_column(case.study_years).1);
    let kept = line(FIRST);
    for (fleet, own) in years.iter().enumerate() {
        let row = FIRST + fleet as u32;
        let n = line(row);
        let gain = case.gain(fleet, &counts);
        let (from, to) = (line(year_row(case, fleet, 0)), line(year_row(case, fleet, case.jobs.len() - 1)));
        let kept_days = (line(year_row(case, 0, 0)), line(year_row(case, 0, case.jobs.len() - 1)));
        let own_rows = member_rows(case, fleet);
        pen.text((row, 0), &case.fleets[fleet].name)?;
        let days = format!("SUM(Year!L{}:L{})-SUM(Year!L{from}:L{to})", kept_days.0, kept_days.1);
        let cells = [
            (format!("=SUM(Year!K{from}:K{to})"), own.contribution),
            (format!("=SUM(Fleets!Q{}:Q{})", line(own_rows.0), line(own_rows.1)), own.own_cost),
            (format!("=B{n}-C{n}"), own.result()),
            (format!("=B{n}-B{kept}"), gain.contribution),
            (format!("=IF({FREED}=\"{NOT_PAID}\",0,SUM(Year!M{from}:M{to}))"), gain.paid_anyway),
            (format!("=MAX(0,INT({days}+1E-9))"), gain.freed_days),
            (format!("=IF({FREED}=\"{SOLD}\",{SOLD_SHARE}*G{n}*{DAY_VALUE},0)"), gain.sold),
            (format!("=C{n}-C{kept}"), gain.own_cost),
            (format!("=E{n}-F{n}+H{n}-I{n}"), gain.total()),
        ];
        for (column, (formula, value)) in (1..).zip(cells) {
            pen.formula((row, column), &formula, value)?;
        }
        let flow = line(flow_row(case, fleet));
        let value = format!(
            "=SUMPRODUCT(Flows!{flow_from}{flow}:{flow_to}{flow}/(1+{INTEREST})^Flows!{flow_from}$2:{flow_to}$2)"
        );
        pen.formula((row, 10), &value, case.net_present_value(fleet))?;
        if fleet > 0 {
            pen.text((row, 11), &purchase_sentence(case, fleet))?;
            if let Some(job) = case.deciding_job(fleet) {
                pen.text((row, 12), &case.jobs[job].name)?;
                turning_cell(pen, case, years, (row, fleet, job))?;
            }
        }
    }
    let below = FIRST + case.fleets.len() as u32 + 1;
    let notes = [
        "Coloured cells on the other sheets are inputs; all other numbers are formulas and follow them.",
        "How jobs are flown (hours, batteries, what is closed) and the years looked at are as they were worked out.",
        NOT_ADVICE,
    ];
    for (row, note) in (below..).zip(notes) {
        pen.sheet.write_with_format(row, 0, note, &pen.looks.note)?;
    }
    Ok(())
}
