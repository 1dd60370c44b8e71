#!/usr/bin/env python3
"""What a machine holds of the house style, in seconds: tests/checks.py [ROOT]. Each finding is one
line "file:line: what"; the exit code is 1 if there is one. tests/run.sh runs it before anything is built.

  layers     no folder includes one above it
  keys       every key of a sentence has words in every language, and no words lie unused
  long       no function above 80 lines, but for those that tests/allowed.txt gives a reason for
  unused     no function that only tests call, but for the same list
  format     every file as clang-format leaves it
  top        nothing at the top but what belongs there
"""
import os
import re
import subprocess
import sys

ROOT = sys.argv[1] if len(sys.argv) > 1 else os.path.join(os.path.dirname(__file__), "..")
os.chdir(ROOT)

# From the bottom up: a folder includes its own row and those below. platform stands beside survey.
LAYERS = [
    ["horizon"], ["survey/book"], ["survey/exchange"], ["survey/assess"],
    ["app/words"], ["app/drawing"], ["app/handover"], ["app/cli", "app/touch"],
]
PLATFORM_MAY = ["horizon", "platform"]
ABOVE_PLATFORM = ["app/touch"]
MOST_LINES = 80
TOP = {"app", "survey", "horizon", "platform", "tests", "docs", "CMakeLists.txt", "CMakePresets.json",
       "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE"}


def sources(*folders):
    for folder in folders:
        for path, _, names in os.walk(folder):
            for name in sorted(names):
                if name.endswith((".h", ".cpp")):
                    yield os.path.join(path, name)


def layer_of(path):
    for height, row in enumerate(LAYERS):
        if any(path.startswith(folder + "/") for folder in row):
            return height
    return None


def layers():
    for path in sources("horizon", "survey", "platform", "app"):
        for number, line in enumerate(open(path), 1):
            found = re.match(r'#include "((?:horizon|survey|platform|app)/[^"]+)"', line)
            if not found:
                continue
            other = found[1]
            if path.startswith("platform/"):
                wrong = not any(other.startswith(folder + "/") for folder in PLATFORM_MAY)
            elif other.startswith("platform/"):
                wrong = not any(path.startswith(folder + "/") for folder in ABOVE_PLATFORM)
            else:
                mine, its = layer_of(path), layer_of(other)
                wrong = mine is not None and its is not None and (
                    its > mine or (its == mine and path.split("/")[:2] != other.split("/")[:2]
                                   and not path.startswith("horizon/")))
            if wrong:
                yield f"{path}:{number}: {other} lies above it"


def words(language):
    found = {}
    for name in sorted(os.listdir(f"app/words/{language}")):
        for number, line in enumerate(open(f"app/words/{language}/{name}"), 1):
            if " = " in line and not line.startswith("#"):
                found[line.split(" = ", 1)[0].strip()] = f"app/words/{language}/{name}:{number}"
    return found


def keys():
    used = {}
    for path in sources("horizon", "survey", "platform", "app"):
        for number, line in enumerate(open(path), 1):
            # Below app every key of the ground's sentences is written whole, too.
            families = "error|task" if path.startswith("app/") else "error|task|ground|list"
            for key in re.findall(rf'"((?:{families})\.[a-z0-9_.]+)"', line):
                used.setdefault(key, f"{path}:{number}")
            sentence = re.search(r'(?:fail\(|give_up\(|stop_bad_input\()(?:[\w:]*Code::\w+, )?'
                                 r'"([^"]* [^"]*)"', line)
            if sentence:
                yield f'{path}:{number}: a sentence in the code: "{sentence[1]}"'
    for language in sorted(os.listdir("app/words")):
        if not os.path.isdir(f"app/words/{language}"):
            continue
        known = words(language)
        if "language.machine" in known:  # such a one may lack keys, and says so in Settings
            continue
        for key in sorted(set(used) - set(known)):
            if key + ".other" in known:
                continue
            yield f"{used[key]}: {key} has no words in {language}"
        for key in sorted(set(known) - set(used)):
            if key.startswith(("error.", "task.")):
                yield f"{known[key]}: no code says {key}"


def allowed(what):
    """Of tests/allowed.txt: lines "WHAT NAME: the reason"."""
    rows = (re.match(r"(\w+) ([\w:]+): ", line) for line in open("tests/allowed.txt"))
    return {row[2] for row in rows if row and row[1] == what}


def long_functions():
    known, seen = allowed("long"), set()
    for path in sources("horizon", "survey", "platform", "app"):
        lines = open(path).read().split("\n")
        for number, line in enumerate(lines):
            if not line.endswith("{") or ")" not in line:
                continue
            first = number  # of the signature or the constructor's list
            while first and not re.search(r"[;{}]$|^$|^ *(//|#|public:|private:)", lines[first - 1]):
                first -= 1
            head = " ".join(part.strip() for part in lines[first:number + 1])
            name = re.match(r"[\w:<>,&*\[\] ]*?((?:\w+::)*\w+)\(", head)
            if not name or re.match(r"(if|for|while|switch|else|do|return|case|namespace|struct|class|"
                                    r"try|const auto|auto|static const)\b", head):
                continue
            indent = re.match(" *", lines[first])[0]
            last = next((i for i in range(number + 1, len(lines)) if lines[i].startswith(indent + "}")),
                        number)
            if last - number + 1 > MOST_LINES:
                seen.add(name[1])
                if name[1] not in known:
                    yield f"{path}:{first + 1}: {name[1]} has {last - number + 1} lines"
    for name in sorted(known - seen):
        yield f"tests/allowed.txt: {name} is not long any more: strike it"


def bare(text):
    text = re.sub(r"//[^\n]*|/\*.*?\*/", "", text, flags=re.S)
    return re.sub(r'"(?:[^"\\\n]|\\.)*"', '""', text)


def unused():
    code = {path: bare(open(path).read()) for path in sources("horizon", "survey", "platform", "app")}
    known = allowed("unused")
    count = {}
    for text in code.values():
        for name in re.findall(r"\b[a-z]\w*\b", text):
            count[name] = count.get(name, 0) + 1
    declared = {}
    shape = re.compile(r"^ *(?:\[\[\w+\]\] )?(?:inline |static |constexpr |virtual |explicit |friend )*"
                       r"(?:const )?[A-Za-z_][\w:<>,*& ]*[ *&>]([a-z]\w*)\(", re.M)
    defined = re.compile(r"^(?:[A-Za-z_][\w:<>,*& ]*[ *&])?(?:\w+::)*([a-z]\w*)\([^;]*?\{", re.M)
    for path, text in code.items():
        if path.endswith(".h"):
            for found in shape.finditer(text):
                if not re.match(r"\s*(return|else|throw|case)\b", found[0]):
                    declared.setdefault(found[1], []).append((path, text.count("\n", 0, found.start()) + 1))
    definitions = {}
    for path, text in code.items():
        if path.endswith(".cpp"):
            for found in defined.finditer(text):
                definitions[found[1]] = definitions.get(found[1], 0) + 1
    for name in sorted(declared):
        own = len(declared[name]) + definitions.get(name, 0)
        if count[name] <= own and name not in known:
            path, number = declared[name][0]
            yield f"{path}:{number}: nothing but tests calls {name}"
    for name in sorted(known - set(declared)):
        yield f"tests/allowed.txt: there is no {name} any more: strike it"


def form():
    paths = list(sources("horizon", "survey", "platform", "app", "tests"))
    done = subprocess.run(["clang-format", "--dry-run", *paths], capture_output=True, text=True)
    seen = set()
    for line in done.stderr.split("\n"):
        found = re.match(r"(\S+?):(\d+):\d+: warning", line)
        if found and found[1] not in seen:
            seen.add(found[1])
            yield f"{found[1]}:{found[2]}: not as clang-format leaves it"


def top():
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True).stdout.split("\n")
    for name in sorted({path.split("/")[0] for path in listed if path}):
        if name not in TOP and not name.startswith("."):
            yield f"{name}: does not belong at the top"


def main():
    bad = 0
    for check in (layers, keys, long_functions, unused, form, top):
        for finding in check():
            print(f"{finding}  [{check.__name__}]")
            bad += 1
    print(f"checks: {bad} findings")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
