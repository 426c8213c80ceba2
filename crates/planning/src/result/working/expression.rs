use crate::base::choice::up;
use std::ops::{Add, Div, Mul, Sub};

/// The right side of a formula, in symbols.
///
/// It is one thing that is both read and worked out: what is shown is what is computed.
///
/// # Examples
/// ```
/// use obliquity_planning::Expression;
/// let swaps = (Expression::symbol("n") - Expression::number(1.0)) * Expression::symbol("t");
/// assert_eq!(swaps.text(), "(n − 1) × t");
/// let values = |symbol: &str| Some(if symbol == "n" { 3.0 } else { 180.0 });
/// assert_eq!(swaps.value(&values), Some(360.0));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum Expression {
    /// A term.
    Symbol(&'static str),
    /// A number that stands in the formula itself.
    Number(f64),
    /// Left plus right.
    Sum(Box<Expression>, Box<Expression>),
    /// Left less right.
    Difference(Box<Expression>, Box<Expression>),
    /// Left times right.
    Product(Box<Expression>, Box<Expression>),
    /// Left over right.
    Quotient(Box<Expression>, Box<Expression>),
    /// The least of them.
    Least(Vec<Expression>),
    /// The greatest of them.
    Greatest(Vec<Expression>),
    /// Its square root.
    Root(Box<Expression>),
    /// Rounded up to a whole number; the last bits of what should come out whole are forgiven.
    Up(Box<Expression>),
}

impl Expression {
    /// A term.
    pub fn symbol(symbol: &'static str) -> Self {
        Expression::Symbol(symbol)
    }

    /// A number.
    ///
    /// # Units
    /// - `value`: whatever the formula needs it in
    pub fn number(value: f64) -> Self {
        Expression::Number(value)
    }

    /// Rounded up to a whole number.
    #[must_use]
    pub fn rounded_up(self) -> Self {
        Expression::Up(self.into())
    }

    /// Its square root.
    #[must_use]
    pub fn root(self) -> Self {
        Expression::Root(self.into())
    }

    /// As it is read: `(n − 1) × t`.
    pub fn text(&self) -> String {
        let sides = |left: &Expression, sign: &str, right: &Expression| {
            format!("{} {sign} {}", self.left(left), self.right(right))
        };
        match self {
            Expression::Symbol(symbol) => (*symbol).to_owned(),
            Expression::Number(value) => value.to_string(),
            Expression::Sum(left, right) => sides(left, "+", right),
            Expression::Difference(left, right) => sides(left, "−", right),
            Expression::Product(left, right) => sides(left, "×", right),
            Expression::Quotient(left, right) => sides(left, "/", right),
            Expression::Least(of) => format!("least of {}", texts(of)),
            Expression::Greatest(of) => format!("greatest of {}", texts(of)),
            Expression::Root(of) => format!("√({})", of.text()),
            Expression::Up(of) => format!("up({})", of.text()),
        }
    }

    /// What stands left of the sign, in brackets where it would be read otherwise without.
    fn left(&self, side: &Expression) -> String {
        if side.binds() < self.binds() { format!("({})", side.text()) } else { side.text() }
    }

    /// What stands right of the sign: after a minus or a stroke also its equals are in brackets.
    fn right(&self, side: &Expression) -> String {
        let parts = matches!(self, Expression::Difference(..) | Expression::Quotient(..));
        let alike = parts && side.binds() == self.binds();
        if alike { format!("({})", side.text()) } else { self.left(side) }
    }

    /// How closely it holds its sides together.
    fn binds(&self) -> u8 {
        match self {
            Expression::Least(_) | Expression::Greatest(_) => 0,
            Expression::Sum(..) | Expression::Difference(..) => 1,
            Expression::Product(..) | Expression::Quotient(..) => 2,
            Expression::Symbol(_) | Expression::Number(_) | Expression::Up(_) | Expression::Root(_) => 3,
        }
    }

    /// What it comes to with the values of its symbols; nothing where one has none.
    ///
    /// # Units
    /// - `of`: each symbol's value in the unit of its term
    /// - returns: the unit that the formula gives of them
    pub fn value(&self, of: &dyn Fn(&str) -> Option<f64>) -> Option<f64> {
        Some(match self {
            Expression::Symbol(symbol) => of(symbol)?,
            Expression::Number(value) => *value,
            Expression::Sum(left, right) => left.value(of)? + right.value(of)?,
            Expression::Difference(left, right) => left.value(of)? - right.value(of)?,
            Expression::Product(left, right) => left.value(of)? * right.value(of)?,
            Expression::Quotient(left, right) => left.value(of)? / right.value(of)?,
            Expression::Least(all) => values(all, of)?.into_iter().fold(f64::INFINITY, f64::min),
            Expression::Greatest(all) => values(all, of)?.into_iter().fold(f64::NEG_INFINITY, f64::max),
            Expression::Root(one) => one.value(of)?.sqrt(),
            Expression::Up(one) => up(one.value(of)?),
        })
    }
}

fn texts(all: &[Expression]) -> String {
    all.iter().map(Expression::text).collect::<Vec<_>>().join(", ")
}

fn values(all: &[Expression], of: &dyn Fn(&str) -> Option<f64>) -> Option<Vec<f64>> {
    all.iter().map(|one| one.value(of)).collect()
}

impl Add for Expression {
    type Output = Expression;
    fn add(self, other: Expression) -> Expression {
        Expression::Sum(self.into(), other.into())
    }
}

impl Sub for Expression {
    type Output = Expression;
    fn sub(self, other: Expression) -> Expression {
        Expression::Difference(self.into(), other.into())
    }
}

impl Mul for Expression {
    type Output = Expression;
    fn mul(self, other: Expression) -> Expression {
        Expression::Product(self.into(), other.into())
    }
}

impl Div for Expression {
    type Output = Expression;
    fn div(self, other: Expression) -> Expression {
        Expression::Quotient(self.into(), other.into())
    }
}

#[cfg(test)]
mod tests {
    use crate::result::working::expression::*;

    fn s(symbol: &'static str) -> Expression {
        Expression::symbol(symbol)
    }

    // Derived: the usual order of operations, by hand.
    #[test]
    fn brackets_stand_where_they_are_needed() {
        assert_eq!((s("a") + s("b") * s("c")).text(), "a + b × c");
        assert_eq!(((s("a") + s("b")) * s("c")).text(), "(a + b) × c");
        assert_eq!((s("a") - (s("b") - s("c"))).text(), "a − (b − c)");
        assert_eq!((s("a") / (s("b") * s("c"))).text(), "a / (b × c)");
        assert_eq!((s("a") / s("b") * s("c")).text(), "a / b × c");
        assert_eq!(Expression::Least(vec![s("a"), s("b") / s("c")]).text(), "least of a, b / c");
    }

    // Derived: 7 − (5 − 2) = 4; 12 / (3 × 2) = 2; a symbol without a value leaves none.
    #[test]
    fn what_is_read_is_what_is_computed() {
        let of = |symbol: &str| match symbol {
            "a" => Some(7.0),
            "b" => Some(5.0),
            "c" => Some(2.0),
            _ => None,
        };
        assert_eq!((s("a") - (s("b") - s("c"))).value(&of), Some(4.0));
        assert_eq!((Expression::number(12.0) / (Expression::number(3.0) * s("c"))).value(&of), Some(2.0));
        assert_eq!(Expression::Least(vec![s("a"), s("b")]).value(&of), Some(5.0));
        assert_eq!(Expression::Greatest(vec![s("a"), s("b")]).value(&of), Some(7.0));
        assert_eq!((s("a") + s("c")).root().value(&of), Some(3.0));
        assert_eq!((s("a") + s("c")).root().text(), "√(a + c)");
        assert_eq!((s("a") / s("c")).rounded_up().value(&of), Some(4.0));
        assert_eq!((s("a") + s("d")).value(&of), None);
    }
}
