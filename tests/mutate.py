#!/usr/bin/env python3
"""mutate.py LIST [FILE...]: called by mutate.sh inside its copy of the sources."""
import pathlib
import re
import subprocess
import sys

# LIST: one line a file, its tests after it; a line that begins with = names an equivalent mutant:
# = FILE NUMBER reason
files, equivalent = {}, set()
for line in pathlib.Path(sys.argv[1]).read_text().splitlines():
    words = line.split()
    if not words or words[0].startswith('#'):
        continue
    if words[0] == '=':
        equivalent.add((words[1], words[2]))
    else:
        files[words[0]] = words[1:]
asked = sys.argv[2:] or list(files)

NUMBER = re.compile(r'(?<![\w.])(\d+\.\d+(?:e-?\d+)?|\d+e-?\d+|\d{2,}|[2-9])(?![\w.])')


def places(text):
    """Offsets of numbers that are a threshold or a factor, not an index, a count or a fact of units."""
    for line in re.finditer(r'[^\n]*\n', text):
        code = line.group().split('//')[0]
        if '#include' in code or 'static_assert' in code or '"' in code:
            continue
        if 'constexpr' not in code and not re.search(r'[<>*]=?\s*[\d.]|[\d.]\s*\*', code):
            continue
        for number in NUMBER.finditer(code):
            before = code[:number.start()].rstrip()[-1:]
            if before in '[' or float(number.group()) in (0, 360, 180, 90, 3600, 86400, 1e-9, 1e-12, 60):
                continue
            yield line.start() + number.start(), number.group()


def larger(number):
    value = float(number) * 1.3
    return str(max(int(number) + 1, round(value))) if re.fullmatch(r'\d+', number) else repr(value)


def caught(tests):
    if subprocess.run(['ninja', '-C', 'build/release', 'horizon_tests'], stdout=subprocess.DEVNULL).returncode:
        return True  # a mutant that does not compile is noticed
    found = ','.join(f'*{test}_test.cpp' for test in tests)
    try:
        return subprocess.run(['./horizon_tests', f'--source-file={found}'], cwd='build/release/tests',
                              stdout=subprocess.DEVNULL, timeout=300).returncode != 0
    except subprocess.TimeoutExpired:
        return True


total = survived = 0
for name in asked:
    path = pathlib.Path(name)
    text = path.read_text()
    for at, number in places(text):
        if (name, number) in equivalent:
            continue
        total += 1
        path.write_text(text[:at] + larger(number) + text[at + len(number):])
        if not caught(files[name]):
            survived += 1
            line = text.count('\n', 0, at) + 1
            print(f'{name}:{line}: {number} -> {larger(number)} passes all its tests', flush=True)
        path.write_text(text)
print(f'{total} mutants, {total - survived} caught')
sys.exit(survived > 0.05 * total)
