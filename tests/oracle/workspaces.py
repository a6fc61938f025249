"""Workspaces that nobody wrote: strengths, limits, regimens, patients with several prescriptions.

What is drawn is what a pharmacy could have; the drawing knows the published ceilings only so far
as that most of what it draws isn't refused.
"""

import csv
import shutil
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from hypothesis import strategies as st

SAMPLE = Path(__file__).parents[2] / "samples" / "languages"
LANGUAGES = (
    "en",
    "es",
    "fr",
    "fr-CA",
    "pt-BR",
    "de",
    "pl",
    "ru",
    "vi",
    "ar",
    "hi",
    "zh-Hans",
    "ko",
)
DAY = date(2026, 11, 24)

PREPARATIONS = ("tadalafil", "ondansetron", "melatonin")
STRENGTHS = {
    "tadalafil": ("2.5 mg", "5 mg", "10 mg"),
    "ondansetron": ("2 mg", "4 mg", "8 mg"),
    "melatonin": ("500 mcg", "1 mg", "2 mg"),
}
MOST = {"tadalafil": (10, 20), "ondansetron": (8, 16), "melatonin": (2, 4)}
"""Milligrams at one time or in 24 hours, below the ceilings of the shipped rules."""

WAYS = {
    "tadalafil": (("before-activity-30-60-min", "erection", 24, 1),),
    "ondansetron": (
        ("every-8-h-when-needed", "nausea", 8, 3),
        ("every-12-h-when-needed", "nausea", 12, 2),
    ),
    "melatonin": (("before-bed-30-60-min", "sleep", 24, 1), ("at-bedtime", "sleep", 24, 1)),
}
"""When, what for, hours between, doses a day."""


@dataclass(frozen=True)
class Medicine:
    """A preparation as drawn."""

    id: str
    strengths: tuple[str, ...]
    single_dose_mg: int
    in_24_h_mg: int
    interval_h: int
    study_days: int | None


@dataclass(frozen=True)
class Order:
    """A prescription as drawn."""

    patient: int
    medicine: Medicine
    strength: str
    way: tuple[str, str, int, int]
    per_dose: int
    quantity: int
    refills: int
    later_days: int
    lidding: str


@dataclass(frozen=True)
class Drawn:
    """A workspace as drawn."""

    medicines: tuple[Medicine, ...]
    languages: tuple[str, ...]
    """One a patient."""
    orders: tuple[Order, ...]
    made_days_before: int
    made_on_is_day: int


def _mg(amount: str) -> float:
    number, unit = amount.split()
    return float(number) / (1000 if unit == "mcg" else 1)


@st.composite
def medicines(draw: st.DrawFn, id_: str) -> Medicine:
    """One to three strengths, and limits of which one tablet of each is within."""
    strengths = draw(st.sets(st.sampled_from(STRENGTHS[id_]), min_size=1))
    ordered = tuple(sorted(strengths, key=_mg))
    single = draw(st.sampled_from([m for m in MOST[id_] if m >= _mg(ordered[-1])]))
    in_24_h = min(24, single * draw(st.sampled_from((1, 2) if id_ == "ondansetron" else (1,))))
    return Medicine(
        id_,
        ordered,
        single,
        in_24_h,
        draw(st.sampled_from((8, 12) if id_ == "ondansetron" else (24,))),
        draw(st.sampled_from((None, 45, 120, 180))),
    )


@st.composite
def orders(draw: st.DrawFn, patient: int, medicine: Medicine) -> Order:
    """A prescription within the medicine's limits."""
    strength = draw(st.sampled_from(medicine.strengths))
    ways = [w for w in WAYS[medicine.id] if w[2] >= medicine.interval_h]
    way = draw(st.sampled_from(ways))
    most = int(min(medicine.single_dose_mg, medicine.in_24_h_mg / way[3]) / _mg(strength))
    return Order(
        patient,
        medicine,
        strength,
        way,
        draw(st.integers(1, max(1, min(most, 3)))),
        draw(st.integers(1, 33)),
        draw(st.integers(0, 5)),
        draw(st.integers(0, 3)),
        draw(st.sampled_from(("stock", "patient"))),
    )


@st.composite
def workspaces(draw: st.DrawFn) -> Drawn:
    """One or two patients, each with one to three prescriptions, each of another medicine."""
    drugs = tuple(draw(medicines(id_)) for id_ in PREPARATIONS)
    languages = draw(st.lists(st.sampled_from(LANGUAGES), min_size=1, max_size=2))
    asked = [
        draw(orders(patient, drug))
        for patient in range(len(languages))
        for drug in draw(st.lists(st.sampled_from(drugs), min_size=1, max_size=2, unique=True))
    ]
    made = draw(st.integers(0, 20))
    return Drawn(drugs, tuple(languages), tuple(asked), made, draw(st.integers(0, 1)))


def write(drawn: Drawn, records: Path) -> None:
    """The workspace as a pharmacy would have it on its disk."""
    shutil.copytree(SAMPLE, records)
    pharmacy = (SAMPLE / "pharmacy.toml").read_text("utf-8")
    counted = pharmacy.replace("made_on_is_day = 0", f"made_on_is_day = {drawn.made_on_is_day}")
    (records / "pharmacy.toml").write_text(counted, "utf-8")
    for medicine in drawn.medicines:
        path = records / "preparations" / f"{medicine.id}.toml"
        path.write_text(_preparation(path.read_text("utf-8"), medicine), "utf-8")
    _patients(drawn, records)
    _table(records / "lots.csv", [_lot(drawn, m, s) for m in drawn.medicines for s in m.strengths])
    _table(records / "prescriptions.csv", [_fill(n, o) for n, o in enumerate(drawn.orders)])


def _preparation(sample: str, medicine: Medicine) -> str:
    """The sample's description of a preparation, with what was drawn in it."""
    head = sample[: sample.index("[[strength]]")]
    parts = [head]
    for n, strength in enumerate(medicine.strengths):
        parts.append(f'[[strength]]\namounts = ["{strength}"]\ncolour = "white"\nmark = "S{n}"\n')
        parts.append('shape = "round"\n')
    decided = (
        'source = "Decision TL-2026-040, invented for the demonstration"\n'
        'decided_by = "Ines Calloway-Reyes, PharmD"\ndecided_on = 2026-10-05\n'
    )
    for limit, value in (
        ("single_dose", f'amount = "{medicine.single_dose_mg} mg"'),
        ("in_24_h", f'amount = "{medicine.in_24_h_mg} mg"'),
        ("least_interval", f"hours = {medicine.interval_h}"),
    ):
        parts.append(f'[[limits.{limit}]]\ningredient = "{medicine.id}"\n{value}\n{decided}')
    if medicine.study_days is not None:
        parts.append(
            f'[beyond_use]\ndays = {medicine.study_days}\nstudy = "Report TL-STAB-014, invented"\n'
            'container = "peel card in sleeve"\n'
        )
    return "\n".join(parts)


def _patients(drawn: Drawn, records: Path) -> None:
    people = [
        {
            "id": f"p-{n}",
            "name": ("Harriet Stonebridge", "Bo Li")[n],
            "born_on": f"196{n}-0{n + 1}-09",
            "language": language,
            "allergies": "none",
            "kidney": "normal",
            "liver": "normal",
            "pregnancy": "no",
            "weight_kg": "",
        }
        for n, language in enumerate(drawn.languages)
    ]
    _table(records / "patients.csv", people)
    asked = {"status": "", "stopped_on": "", "confirmed_by": "Ines Calloway-Reyes"}
    answers = [
        {"patient": p["id"], "medicine": "none", **asked, "confirmed_on": DAY.isoformat()}
        for p in people
    ]
    _table(records / "medicines.csv", answers)


def _lot(drawn: Drawn, medicine: Medicine, strength: str) -> dict[str, object]:
    made = DAY - timedelta(days=drawn.made_days_before)
    parts = {
        "tadalafil": "tadalafil:TDF-1:2028-03|mannitol:MN-1:2029-01|crospovidone:CR-1:2028-11"
        "|peppermint flavour:PF-1:2028-08",
        "ondansetron": "ondansetron hydrochloride dihydrate:OND-1:2027-04-30|mannitol:MN-1:2029-01"
        "|aspartame:AS-1:2029-04|orange flavour:OF-1:2028-08",
        "melatonin": "melatonin:ME-1:2027-02|mannitol:MN-1:2029-01"
        "|lactose monohydrate:LM-1:2028-10",
    }
    number = f"{medicine.id[0].upper()}{STRENGTHS[medicine.id].index(strength)}2611"
    return {
        "number": number,
        "preparation": medicine.id,
        "strength": strength,
        "status": "released",
        "made_on": made.isoformat(),
        "made": 200,
        "rejected": 3,
        "tested": 2,
        "retained": 1,
        "beyond_use": "",
        "ingredient_lots": parts[medicine.id],
        "prepared_by": "Rowan Achterberg",
        "checked_by": "Ines Calloway-Reyes",
    }


def _fill(n: int, order: Order) -> dict[str, object]:
    when, reason, hours, times = order.way
    row = dict.fromkeys(_columns(), "")
    return row | {
        "number": f"30{n}0{n + 1}",
        "fill": 1,
        "written_on": (DAY - timedelta(days=2)).isoformat(),
        "dispensed_on": (DAY + timedelta(days=order.later_days)).isoformat(),
        "patient": f"p-{order.patient}",
        "prescriber_name": "Hester Quillfeather, MD",
        "prescriber_registration": "DEMO-MD-2231",
        "prescriber_telephone": "(503) 555-0131",
        "preparation": order.medicine.id,
        "strength": order.strength,
        "quantity_prescribed": order.quantity,
        "quantity_this_fill": order.quantity,
        "quantity_remaining": 0,
        "refills_left": order.refills,
        "tablets_per_dose": order.per_dose,
        "route": "under-the-tongue",
        "when": when,
        "reason": reason,
        "least_interval_h": hours,
        "most_in_24_h": order.per_dose * times,
        "lidding": order.lidding,
    }


def _columns() -> list[str]:
    with (SAMPLE / "prescriptions.csv").open(encoding="utf-8", newline="") as file:
        return next(csv.reader(file))


def _table(path: Path, rows: list[dict[str, object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
