"""Random study files, sound or nearly so, drawn from the JSON Schema: every key of the study file may occur.

Cables and trays are laid by hand, so that they do not overlap; every other key and value comes from the schema.
"""

import json
import math
import re
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from studies.data.materials import MATERIALS
from studies.lookups.schema import schema_text
from studies.study.circuits import ARRANGEMENTS
from studies.study.metalwork import SHAPES
from studies.study.trays import PROFILES
from studies.text.problems import StudyError

Table = dict[str, Any]
SCHEMA = json.loads(schema_text())
CHOOSING = {"arrangement": ARRANGEMENTS, "shape": SHAPES, "profile": PROFILES}
"""Keys that decide which other keys go with them."""
METALS = (
    *("mild-steel", "galvanised-steel", "stainless-304", "aluminium-6063", "copper", "lead"),
    *(name for name, metal in MATERIALS.items() if metal.curve is not None),
)
EITHER: tuple[tuple[tuple[str, ...], ...], ...] = (
    (("load_factor",), ("loss_factor",), ("hours", "loads")),
    (("peak_current",), ("initial_current", "resistance_over_reactance")),
    (("current",), ("share",)),
    (("conductivity",), ("resistivity",)),
)
"""Keys of which a table needs those of one way."""
WITH = {"loads": ("supply", "route"), "route_screens": ("route",)}
"""Keys at the top that go with others."""
FEEDERS = (
    *(["L1", "L2", "L3"], ["L1", "L2", "L3"], ["L1", "L2", "L3", "N"], ["L1", "L2", "L3", "PE"], ["L1", "L2"]),
    *(["L1", "L2", "L3"] * 2, ["L1", "L2", "L3"] * 4, ["L1", "L2", "L3", "N", "PE"], ["L1", "N"]),
)
LAID = ("title", "case", "frequency", "cables", "circuits", "trays", "materials", "drawing", "document", "variants")
"""Keys at the top that are not drawn from the schema."""
MOST_REPAIRS = 40
SURVEY = "x (m),y (m),field (nT),uncertainty (%)\n2,0.5,300,5\n2,1,250,5\n-2,0.5,300,5\n1,1.5,900,5\n0,2,500,5\n"


def metres(length: str) -> float:
    return float(length.split()[0])


class Draw:
    """Values of keys by lot."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        self.names: dict[str, list[str]] = {}
        """Names that exist already, by the key that may refer to them."""
        self.named = 0
        self.model = ""
        """The model whose keys are drawn."""

    def one(self, of: Sequence[Any]) -> Any:
        return of[int(self.random.integers(len(of)))]

    def chance(self, share: float) -> bool:
        return bool(self.random.random() < share)

    def table(self, model_name: str, share: float = 0.3, **stated: Any) -> Table:
        """A table of one model: its needed keys, and each other one by chance; `stated` keys are as they are."""
        self.model, model = model_name, SCHEMA["$defs"][model_name]
        found = {
            key: self.value(key, model["properties"][key]) for key in model.get("required", ()) if key not in stated
        }
        found |= stated
        allowed, needed = set(model["properties"]), set()
        for ways in EITHER:
            one_of = {key for way in ways for key in way}
            if one_of <= set(model["properties"]) and not one_of & found.keys():
                way = self.one(ways)
                needed |= {*way}
                allowed -= one_of - {*way}
        for key in CHOOSING.keys() & found.keys():
            keys = CHOOSING[key][found[key]]
            if not found.keys() & set(keys.one_of) and keys.one_of:
                needed.add(self.one(keys.one_of))
            needed |= {*keys.required}
            others = {other for one in CHOOSING[key].values() for other in one.allowed}
            allowed -= others - set(keys.allowed)
        for key, schema in model["properties"].items():
            if key in allowed and key not in found and (key in needed or self.chance(share)):
                found[key] = self.value(key, schema)
        return found

    def value(self, key: str, schema: Table) -> Any:
        """A value as it stands in a study file."""
        if "$ref" in schema:
            return self.table(schema["$ref"].rpartition("/")[2])
        if "anyOf" in schema:
            return self.value(key, self.one(schema["anyOf"]))
        if "enum" in schema:
            return self.one(schema["enum"])
        if "const" in schema:
            return schema["const"]
        kind = schema["type"]
        if kind == "array":
            if key in ("path", "other_runs") and "examples" in schema:
                return self.one(schema["examples"])
            each = schema.get("prefixItems") or [schema["items"]] * int(
                self.random.integers(max(schema["minItems"], 1), 3)
            )
            if key in ("metals", "relative_densities", "hours", "loads"):  # lists that go with each other
                each = each[:1]
            found = [self.value(key, item) for item in each]
            if key == "window" and isinstance(found[0], list):  # lower left, upper right
                return np.transpose([sorted(pair, key=metres) for pair in np.transpose(found)]).tolist()
            return found
        if kind == "object":
            keys = schema.get("propertyNames", {}).get("enum", self.names.get("circuits", []))
            if key == "set":
                return self.changes()
            own = [self.one(keys)]
            return {name: self.value(key, schema["additionalProperties"]) for name in own}
        if kind == "boolean":
            return self.chance(0.5)
        if kind in ("number", "integer"):
            return self.number(key, schema)
        return self.quantity(schema) if "x-range" in schema else self.word(key, schema)

    def word(self, key: str, schema: Table) -> str:
        if key == "name":
            self.named += 1
            return f"{self.one(('place', 'Ort – µ', 'x.y', 'a b'))} {self.named}"
        if key in ("material", "instead", "metals"):
            return str(self.one(METALS))
        if known := self.names.get(f"{self.model}.{key}", self.names.get(key)):
            return str(self.one(known))
        return str(schema.get("examples", ["1 diameter"])[0])

    def number(self, key: str, schema: Table) -> float | int:
        if key in ("samples", "solves"):  # the least of them: each costs time
            return int(schema["minimum"])
        low, high = schema.get("minimum", schema.get("exclusiveMinimum")), schema["maximum"]
        example = schema.get("examples", [1.0])[0]
        drawn = np.clip(float(np.exp(self.random.normal(np.log(max(example, 1e-3)), 0.7))), low, min(high, 1e4))
        return round(drawn) if schema["type"] == "integer" else float(f"{drawn:.4g}")

    def quantity(self, schema: Table) -> str:
        """A number about the example, in its unit; rarely an end of the range."""
        ends = schema["x-range"]
        if self.chance(0.02):
            end = ends["maximum"] if self.chance(0.5) else ends.get("minimum", ends["maximum"])
            return f"{end:g} {ends['unit']}" if ends["unit"] else f"{100 * end:g} %"
        number, unit = re.fullmatch(r"([-+\d.]+)\s*(.*)", schema["examples"][0]).groups()  # type: ignore[union-attr]
        if ends["unit"] == "m" and ends.get("minimum", 0) < 0:
            return f"{self.random.uniform(-3, 3):.3f} m"
        if ends["unit"] == "rad":
            return f"{self.random.uniform(max(0, np.sign(ends['minimum']) * -180), 180):.1f} deg"
        if self.chance(0.1) and ends.get("minimum", 1) == 0:
            return f"0 {unit}"
        return f"{float(number) * np.exp(self.random.normal(0, 0.5)):.4g} {unit}"

    def changes(self) -> Table:
        """Dotted keys of the study with other values."""
        circuit = self.one(self.names["circuits"])
        found: Table = {f"circuits.{circuit}.current": f"{self.random.uniform(1, 900):.1f} A"}
        if self.names["trays"] and self.chance(0.6):
            found[f"trays.{self.one(self.names['trays'])}.material"] = self.one(METALS)
        return found


def cable(draw: Draw) -> tuple[Table, float]:
    """A construction and its diameter. [mm]"""
    area = draw.one((1.5, 16, 50, 120, 240, 400, 630, 1000))
    radius = math.sqrt(area / math.pi)
    metal = draw.one(("copper", "aluminium"))
    found: Table = {
        "conductor": {"material": metal, "area": f"{area} mm^2", "temperature": draw.one(("20 degC", "70 degC"))}
    }
    layers = ["insulation"]
    layers += ["screen"] if draw.chance(0.35) else []
    if draw.chance(0.2):
        layers += ["separation", "sheath"] if "screen" in layers else ["sheath"]
    if draw.chance(0.15):
        layers += ["bedding", "armour"] if len(layers) > 1 else ["armour"]
    layers += ["jacket"] if len(layers) > 1 or draw.chance(0.8) else []
    for layer in layers:
        thick = float(f"{draw.random.uniform(0.2, 3):.3f}")
        radius += thick
        found[layer] = f"{thick} mm"
        if layer in ("screen", "sheath", "armour"):
            metal = (
                "steel-wire-armour"
                if layer == "armour" and draw.chance(0.7)
                else draw.one(("copper", "lead", "aluminium"))
            )
            found[layer] = {"material": metal, "thickness": f"{thick} mm"}
    if draw.chance(0.4):
        found["permittivity"] = 2.4
    return found, 2 * radius


def circuit(
    draw: Draw, name: str, of: str, diameter: float, most: int, left: float, floor: float
) -> tuple[Table, float]:
    """A circuit that begins at `left` on a floor, and where it ends. [mm]"""
    phases = list(draw.one([own for own in FEEDERS if len(own) <= max(most, 2)]))
    draw.random.shuffle(phases)
    count, form = len(phases), draw.one(("flat", "flat", "trefoil", "positions"))
    if form == "trefoil" and count % 3:
        form = "flat"
    gap = draw.one((0.0, 0.1, 1.0)) * diameter
    width = count * diameter + (count - 1) * gap
    if form == "trefoil":
        width = count / 3 * 2 * diameter + (count / 3 - 1) * 2.15 * diameter
    middle = left + width / 2
    found: Table = {"name": name, "cable": of, "arrangement": form, "phases": phases}
    if form == "positions":
        step, lift = diameter + gap, floor + diameter / 2 + 0.01
        found["positions"] = [[f"{left + diameter / 2 + k * step:.3f} mm", f"{lift:.3f} mm"] for k in range(count)]
    else:
        found["rests_at"] = [f"{middle:.3f} mm", f"{floor:.3f} mm"]
    if form == "flat":
        found["clear_gap"] = f"{gap:.3f} mm"
    found["current"] = f"{np.exp(draw.random.uniform(0, 7)):.1f} A"
    if draw.chance(0.2):
        found["current"] = {label: f"{draw.random.uniform(0, 500):.1f} A" for label in phases if label[0] == "L"}
    keys = ("harmonics", "further_currents", "direct_current", "net_current", "permitted_current", "frequency")
    for key in keys:
        if draw.chance(min(0.12, 1.5 / (count + most))):
            found[key] = draw.value(key, SCHEMA["$defs"]["Circuit"]["properties"][key])
    return found, left + width


def installation(draw: Draw, cables: int) -> Table:
    """Cables on trays, near each other or far apart, or without trays."""
    made = {f"c{k}": cable(draw) for k in range(1 if draw.chance(0.6) else 2)}
    circuits: list[Table] = []
    trays: list[Table] = []
    laid, far = 0, draw.chance(0.4)
    while laid < cables and len(circuits) < 20:
        k = len(trays)
        x0, y0 = (1500.0 * (k % 4), 1200.0 * (k // 4)) if far else (0.0, 320.0 * k)
        left, highest = x0, 0.0
        for _ in range(int(draw.random.integers(1, 5))):
            name = draw.one(list(made))
            diameter = made[name][1]
            own, end = circuit(draw, f"F{len(circuits) + 1}", name, diameter, cables - laid, left, y0)
            circuits.append(own)
            laid += len(own["phases"])
            highest, left = max(highest, 2 * diameter), end + draw.random.uniform(0, 30)
            if laid >= cables:
                break
        middle, width = (x0 + left) / 2, left - x0 + 20
        form = draw.one(("channel", "channel", "plate", "ladder", "duct", "none"))
        size = {"width": f"{width:.2f} mm"}
        if form not in ("plate", "none"):
            size = {"inside_width": f"{width:.2f} mm", "inside_height": f"{highest + 15:.2f} mm"}
        if form == "none" and (far or laid < cables):
            form, size = "plate", {"width": f"{width:.2f} mm"}
        place = [f"{middle:.3f} mm", f"{y0:.3f} mm"]
        if form != "none":
            sheet = f"{draw.random.uniform(0.5, 3):.2f} mm"
            stated: Table = {
                "name": f"T{k + 1}",
                "profile": form,
                "rests_at": place,
                "thickness": sheet,
                "turned": "0 deg",
                "material": draw.one(METALS[:6] if draw.chance(0.7) else METALS),
            }
            trays.append(draw.table("Tray", 0.15, **stated, **size))
        else:
            break
    return {"cables": {name: own for name, (own, _) in made.items()}, "circuits": circuits, "trays": trays}


def random_file(seed: int, most: int = 60) -> str:
    """A study file that is sound, or nearly so."""
    draw = Draw(seed)
    cables = int(np.exp(draw.random.uniform(0, math.log(most))))
    laid: Table = {"title": f"Random {seed}", "frequency": draw.one(("50 Hz", "60 Hz", "400 Hz", "16.7 Hz", "2 kHz"))}
    draw.names = {"returns_in": ["T1", "earth", "far away"], "file": ["survey.csv"]}
    laid |= installation(draw, cables)
    circuits, trays = ([str(own["name"]) for own in laid[key]] for key in ("circuits", "trays"))
    draw.names |= {"circuits": circuits, "circuit": circuits, "trays": trays, "permeability_of": trays or ["T1"]}
    draw.names |= {"parts": [*trays, *(f"{name} {layer}" for name in circuits for layer in ("screens", "sheaths"))]}
    draw.names |= {"Plate.of": circuits, "Shielding.of": trays or ["T1"], "MetalLayer.material": ["copper", "lead"]}
    draw.names |= {"twisted": circuits, "phases": circuits}
    if draw.chance(0.2):
        laid["materials"] = {"own": draw.table("StudyMaterial", 0.2, conductivity="6 MS/m", relative_permeability=300)}
    share = 0.25 if cables <= 12 else 0.08
    for key, schema in sorted(SCHEMA["properties"].items(), key=lambda entry: entry[0] not in WITH):
        asked = {other for own in laid for other in WITH.get(own, ())}
        if key in LAID or not (key in asked or draw.chance(0.7 if key in ("receptors", "zones") else share)):
            continue
        laid[key] = draw.value(key, schema) if key != "sweep" else {key: [own] for key, own in draw.changes().items()}
        if key in ("receptors", "zones"):
            named = [str(own["name"]) for own in laid[key]]
            draw.names[key] = draw.names[key.removesuffix("s")] = named
            draw.names["Remedies.of"] = [*draw.names.get("Remedies.of", []), *named]
    laid["accuracy"] = {"tolerance": draw.one(("20 %", "20 %", "10 %", "5 %"))}
    return as_file(laid)


def as_file(data: Table) -> str:
    """The study file, each key on a line of its own."""
    lines = [f"{json.dumps(key)} = {as_toml(own)}" for key, own in data.items() if isinstance(own, str | float | int)]
    for key, own in data.items():
        if key in ("cables", "materials"):
            blocks = [(f"[{key}.{name}]", table) for name, table in own.items()]
        elif isinstance(own, dict):
            blocks = [(f"[{key}]", own)]
        else:
            blocks = [(f"[[{key}]]", table) for table in own] if isinstance(own, list) else []
        for head, table in blocks:
            lines += ["", head, *(f"{json.dumps(name)} = {as_toml(entry)}" for name, entry in table.items())]
    return "\n".join(lines) + "\n"


def as_toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {as_toml(entry)}" for key, entry in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def repaired(text: str, check: Callable[[str], object]) -> str:
    """The file without what its messages name: the line, or the block if its heading is named.

    check: Raises a StudyError for a file that is not sound.
    Raises StudyError: If so much is wrong that nothing is left, or a message names no line.
    """
    for _ in range(MOST_REPAIRS):
        try:
            check(text)
        except StudyError as error:
            lines = text.split("\n")
            named = {problem.line for problem in error.problems if problem.line}
            if not named:
                raise
            for line in sorted(named, reverse=True):
                end = line
                if lines[line - 1].startswith("["):
                    end = next((k for k in range(line, len(lines)) if not lines[k].strip()), len(lines))
                del lines[line - 1 : end]
            text = "\n".join(lines)
        else:
            return text
    check(text)
    return text
