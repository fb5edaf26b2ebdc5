"""Small faults put into a copy of the tree, all in one build, each to be switched on by an environment variable.

FAULT=17 switches fault 17 on, and any panic then ends the process; FAULT=4294967295 switches none on and writes the first
fault of each place that is reached to the file FAULT_RECORD.
"""

import collections
import json
import re
import shutil
import subprocess
from pathlib import Path

import tree_sitter
import tree_sitter_rust

ROOT = Path(__file__).resolve().parent.parent
PARTS = ("engine", "circuit", "physics", "stats", "findings", "study")
# As many switches as `SWITCH` has room for.
MOST = 20_000
# Around each fault, `/*<17*/` to `/*17>*/`, and around each place, `/*<0 17*/` to `/*0>*/` with its first fault.
MARK = re.compile(rb"/\*<(\d+)(?: (\d+))?\*/|/\*(\d+)>\*/")
SWITCH = """//! Which fault is switched on.

use std::sync::LazyLock;
use std::sync::atomic::{AtomicU32, AtomicU8, Ordering::Relaxed};
use std::{env, fs, io::Write};

const RECORD: u32 = u32::MAX;
const UNKNOWN: u32 = u32::MAX - 1;
static ON: AtomicU32 = AtomicU32::new(UNKNOWN);
static SEEN: [AtomicU8; MOST] = [const { AtomicU8::new(0) }; MOST];
static FILE: LazyLock<fs::File> = LazyLock::new(|| {
    fs::File::options().append(true).create(true).open(env::var_os("FAULT_RECORD").unwrap()).unwrap()
});

/// The fault switched on; notes that the place of this one was reached.
#[inline(always)]
pub fn at(first: u32) -> u32 {
    let on = ON.load(Relaxed);
    if on < UNKNOWN { on } else { special(first) }
}

#[cold]
#[inline(never)]
fn special(first: u32) -> u32 {
    if ON.load(Relaxed) == UNKNOWN {
        let on = env::var("FAULT").ok().and_then(|id| id.parse().ok()).unwrap_or(0);
        if on != 0 && env::var_os("FAULT_NO_HOOK").is_none() {
            std::panic::set_hook(Box::new(|_| std::process::exit(101)));
        }
        ON.store(on, Relaxed);
    }
    let on = ON.load(Relaxed);
    let seen = &SEEN[first as usize];
    if on == RECORD && seen.load(Relaxed) == 0 && seen.swap(1, Relaxed) == 0 {
        (&*FILE).write_all(format!("{first}\\n").as_bytes()).unwrap();
    }
    on
}
""".replace("MOST", str(MOST))


def run(command, where, check=False):
    return subprocess.run(command, cwd=where, check=check, capture_output=True, text=True, errors="replace")


def listed(parts):
    """The faults of cargo-mutants, numbered from 1."""
    files = [option for part in parts for option in ("--file", f"src/{part}/**")]
    found = json.loads(run(["cargo", "mutants", "--list", "--json", *files], ROOT, check=True).stdout)
    # Each is listed once for the package and once for its dependency on itself.
    faults = list({fault["name"]: fault for fault in found}.values())
    if len(faults) >= MOST:
        raise SystemExit(f"{len(faults)} faults, more than there are switches: look at fewer --parts")
    for number, fault in enumerate(faults, 1):
        fault["id"] = number
        del fault["diff"]
    return faults


class Source:
    """One file and the places in it where faults go."""

    def __init__(self, path, faults):
        self.text = path.read_bytes()
        self.starts = [0]
        for line in self.text.split(b"\n"):
            self.starts.append(self.starts[-1] + len(line) + 1)
        parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_rust.language()))
        self.root = parser.parse(self.text).root_node
        self.sites = collections.defaultdict(list)
        self.unplaced = []
        for fault in faults:
            place = self.place(fault)
            if place is None:
                self.unplaced.append(fault["id"])
            else:
                self.sites[place].append(fault)

    def offset(self, at):
        start = self.starts[at["line"] - 1]
        line = self.text[start:].split(b"\n", 1)[0].decode()
        return start + len(line[: at["column"] - 1].encode())

    def place(self, fault):
        """(start, end, kind) in bytes of the code that the fault takes the place of, or stands in front of."""
        start, end = self.offset(fault["span"]["start"]), self.offset(fault["span"]["end"])
        # The span of a field ends with its comma, which is outside the node.
        node = self.root.descendant_for_byte_range(start, start + 1 if fault["genre"] == "StructField" else end)
        kinds = {
            "BinaryOperator": ("binary_expression", "compound_assignment_expr"),
            "UnaryOperator": ("unary_expression",),
            "MatchArm": ("match_arm",),
            "StructField": ("field_initializer", "shorthand_field_initializer"),
        }.get(fault["genre"])
        if fault["genre"] == "FnValue":
            return (start, start, "body")
        if fault["genre"] == "MatchArmGuard":
            return (start, end, "guard")
        while node is not None and node.type not in kinds:
            node = node.parent
        if node is None:
            return None
        if fault["genre"] == "BinaryOperator":
            left, right = node.child_by_field_name("left"), node.child_by_field_name("right")
            if not left.end_byte <= start < end <= right.start_byte:
                return None
        fault["node"] = node
        return (node.start_byte, node.end_byte, node.type)

    def original(self, node):
        return self.text[node.start_byte : node.end_byte].decode()

    def between(self, start, end, but=None):
        """The code of a stretch with every fault in it, but that of one place."""
        inside = [s for s in self.sites if start <= s[0] and s[1] <= end]
        if but is not None:
            # Of places that begin alike, a body holds a guard, and a guard the rest.
            outer = {"body": ("body",), "guard": ("body", "guard")}.get(but[2], ("body", "guard", but[2]))
            inside = [s for s in inside if not (s[0] == but[0] and s[2] in outer and s[1] in (s[0], but[1]))]
        inside.sort(key=lambda s: (s[0], s[2] != "body", -s[1], s[2] != "guard"))
        out, at = [], start
        for site in inside:
            if site[0] < at:
                continue
            out += [self.text[at : site[0]].decode(), self.site(site)]
            at = site[1]
        return "".join([*out, self.text[at:end].decode()])

    def site(self, site):
        start, end, kind = site
        faults = self.sites[site]
        whole = self.between(start, end, site) if start < end else ""
        call = f"crate::mutant::at({faults[0]['id']})"

        def chosen(arms, rest):
            arms = "".join(f"\n/*<{i}*/{i} => {{ {code} }}/*{i}>*/" for i, code in arms)
            return f"/*<0 {faults[0]['id']}*/match {call} {{{arms}\n_ => {rest} }}/*0>*/"

        if kind == "body":
            return chosen([(f["id"], f"return {f['replacement']};") for f in faults], "{}") + "\n"
        if kind == "guard":
            return chosen([(f["id"], f["replacement"]) for f in faults], f"{{ {whole} }}")
        node = faults[0]["node"]
        if kind == "match_arm":
            pattern = node.child_by_field_name("pattern")
            value = node.child_by_field_name("value")
            condition = pattern.child_by_field_name("condition")
            number = faults[0]["id"]
            bound = self.original(pattern) if condition is None else self.text[pattern.start_byte : condition.start_byte].decode()
            bound = re.sub(r"\s+if\s*$", "", bound)
            guard = "" if condition is None else f" && ({self.between(condition.start_byte, condition.end_byte, site)})"
            body = self.between(value.start_byte, end, site)
            return f"/*<0 {number}*/{bound} if ({call} != {number}){guard} => {body}/*0>*/"
        if kind in ("field_initializer", "shorthand_field_initializer"):
            base = next(c for c in node.parent.children if c.type == "base_field_initializer")
            base = self.original(base).removeprefix("..")
            name = self.original(node).split(":")[0].strip()
            value = node.child_by_field_name("value")
            value = name if value is None else self.between(value.start_byte, value.end_byte, site)
            return f"{name}: " + chosen([(f["id"], f"({base}).{name}") for f in faults], f"{{ {value} }}")
        if kind == "unary_expression":
            operand = self.original(node.children[-1])
            arms = [(f["id"], f"({operand})") for f in faults]
        else:
            left, right = (self.original(node.child_by_field_name(side)) for side in ("left", "right"))
            arms = [(f["id"], f"({left}) {f['replacement']} ({right})") for f in faults]
        return "(" + chosen(arms, f"{{ {whole} }}") + ")"

    def write(self, path, without):
        for site, faults in list(self.sites.items()):
            kept = [f for f in faults if f["id"] not in without]
            if kept:
                self.sites[site] = kept
            else:
                del self.sites[site]
        put(path, self.between(0, len(self.text)).encode())


def put(path, text):
    """Writes what differs alone, so that only this is built again."""
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists() or path.read_bytes() != text:
        path.write_bytes(text)


def copy_tree(copy, but):
    files = run(["git", "ls-files", "--cached", "--others", "--exclude-standard"], ROOT, check=True).stdout.split("\n")
    for file in filter(None, files):
        if file not in but and (ROOT / file).is_file():
            put(copy / file, (ROOT / file).read_bytes())
            shutil.copymode(ROOT / file, copy / file)


def build(copy, faults):
    """Writes the copy with all the faults, but those that do not build; gives their numbers, and of the others the first at
    each one's place.
    """
    sources = {}
    for fault in faults:
        sources.setdefault(fault["file"], []).append(fault)
    sources = {file: Source(ROOT / file, group) for file, group in sources.items()}
    without = {i for source in sources.values() for i in source.unplaced}
    copy_tree(copy, {*sources, "src/lib.rs"})
    put(copy / "src/mutant.rs", SWITCH.encode())
    library = (ROOT / "src/lib.rs").read_text()
    library = re.sub(r"^pub mod machine;", "pub mod machine;\npub mod mutant;", library, flags=re.MULTILINE)
    allowed = "#![allow(warnings, arithmetic_overflow, unconditional_panic)]\n"
    put(copy / "src/lib.rs", (allowed + library).encode())
    while True:
        for file, source in sources.items():
            source.write(copy / file, without)
        checked = run(["cargo", "check", "--lib", "--message-format", "json"], copy)
        bad = set()
        for line in checked.stdout.splitlines():
            message = json.loads(line).get("message") or {}
            if message.get("level") != "error":
                continue
            for span in message["spans"]:
                if span["is_primary"] and span["file_name"] in sources:
                    bad |= enclosing((copy / span["file_name"]).read_bytes(), span["byte_start"])
        if not bad:
            if checked.returncode != 0:
                raise SystemExit(checked.stderr + checked.stdout[-3000:])
            groups = [group for source in sources.values() for group in source.sites.values()]
            return without, {fault["id"]: group[0]["id"] for group in groups for fault in group}
        print(f"{len(bad)} do not build", flush=True)
        without |= bad


def enclosing(text, at):
    """The faults of the innermost marked stretch around a byte: one, or all of a place."""
    open_marks = []
    for mark in MARK.finditer(text):
        if mark.start() > at:
            break
        if mark[1] is not None:
            open_marks.append(mark)
        else:
            open_marks.pop()
    if not open_marks:
        raise SystemExit(f"an error outside any fault: {text[at - 300 : at + 100].decode()}")
    around = open_marks[-1]
    if around[1] != b"0":
        return {int(around[1])}
    arms, depth = set(), 0
    for mark in MARK.finditer(text, around.end()):
        if mark[1] is not None:
            if depth == 0 and mark[1] != b"0":
                arms.add(int(mark[1]))
            depth += 1
        elif depth == 0:
            break
        else:
            depth -= 1
    return arms or {int(around[2])}
