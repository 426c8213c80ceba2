"""Works out the workbook of a purchase with a spreadsheet engine that knows nothing of the program.

usage: python recompute_purchase.py path/to/obliquity path/to/portfolio.ron

Every formula of the workbook is evaluated and held against the value that the program wrote beside it. Then the portfolio is changed
(counts, prices, interest, capacity, what hours saved are worth): the program writes a workbook of each change, its inputs are typed into
the first workbook, and what that comes to is held against the changed one. Needs the packages of spreadsheet.txt.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import formualizer
import openpyxl

# Sums of some hundred terms in double precision, in another order.
TOLERANCE = 1e-9

CHANGES = {
    "fewer viaducts, no interest": [("count: 8.0", "count: 2.0"), ("interest: 0.06", "interest: 0.0")],
    "hours sold as days": [("freed: Slack", "freed: SoldAsDays(share: 0.5, day_value: 310.0)")],
    "hours not paid, few days": [("freed: Slack", "freed: NotPaid"), ("flying_days: 210.0", "flying_days: 60.0")],
    "another price, life and day": [
        ("price: 9800.0", "price: 12000.0"),
        ("hours_a_day: 8.0", "hours_a_day: 3.0"),
        ("resale: 6500.0, years: 4.0", "resale: 6500.0, years: 3.0"),
    ],
}

# What the program says in words is of the moment at which it was written.
SAID = ("Answer", "L")


def written(program, portfolio, out):
    subprocess.run([program, "purchase", portfolio, "--xlsx", out, "--replace"], check=True)
    return openpyxl.load_workbook(out), openpyxl.load_workbook(out, data_only=True)


def cells(book):
    for sheet in book:
        for row in sheet.iter_rows():
            yield from ((sheet.title, cell) for cell in row if cell.value is not None)


def is_formula(cell):
    return isinstance(cell.value, str) and cell.value.startswith("=")


def compare(name, engine, formulas, values):
    count, wrong = 0, []
    for title, cell in cells(formulas):
        if not is_formula(cell):
            continue
        count += 1
        wanted = values[title][cell.coordinate].value
        found = engine.evaluate_cell(title, cell.row, cell.column)
        if isinstance(wanted, str):
            same = found == wanted
        else:
            same = isinstance(found, (int, float)) and abs(found - wanted) <= TOLERANCE * max(1.0, abs(wanted))
        if not same:
            wrong.append(f"{title}!{cell.coordinate}: {wanted!r} written, {found!r} found by {cell.value}")
    print(f"{name}: {count} formulas, {len(wrong)} unlike")
    for line in wrong[:20]:
        print("  " + line)
    if wrong or count < 100:
        sys.exit(1)


def main():
    program, portfolio = Path(sys.argv[1]).resolve(), Path(sys.argv[2]).resolve()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "portfolio"
        shutil.copytree(portfolio.parent, folder)
        own = folder / portfolio.name
        first = Path(scratch) / "first.xlsx"
        formulas, values = written(program, own, first)
        engine = formualizer.load_workbook(str(first))
        engine.evaluate_all()
        compare("as it is", engine, formulas, values)
        # The arithmetic is the same at one GSD for all, and nothing has to be searched.
        text = own.read_text().replace("study_years: 4,", "study_years: 5, settings: EqualGsd,")
        own.write_text(text)
        formulas, values = written(program, own, first)
        for number, (name, changes) in enumerate(CHANGES.items()):
            changed = text
            for before, after in changes:
                if before not in changed:
                    sys.exit(f"{name}: {before!r} is not in the portfolio")
                changed = changed.replace(before, after)
            other = folder / f"changed_{number}.ron"
            other.write_text(changed)
            wanted_formulas, wanted = written(program, other, Path(scratch) / f"changed_{number}.xlsx")
            typed = 0
            engine = formualizer.load_workbook(str(first))
            if number == 0:
                engine.evaluate_all()
                compare("over five years", engine, formulas, values)
            for title, cell in cells(wanted_formulas):
                before = formulas[title][cell.coordinate].value
                if is_formula(cell) or before == cell.value or (title, cell.column_letter) == SAID:
                    continue
                engine.set_value(title, cell.row, cell.column, cell.value)
                typed += 1
            if typed == 0:
                sys.exit(f"{name}: no input of the workbook differs")
            engine.evaluate_all()
            compare(f"{name}, {typed} inputs typed", engine, formulas, wanted)


main()
