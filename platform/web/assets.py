#!/usr/bin/python3
"""assets.py FOLDER: what the program reads at run time, cut to what it needs.

fonts/     Inter with Latin, Greek and Cyrillic, and of Noto what the program's own words and signs
           need beyond that; Arabic and Devanagari whole, since the app speaks languages of both. Text
           in other scripts is kept and exported, but not shown in a browser.
proj/      proj.db with every system of the EPSG register, without the other registers, the names
           in other words, and the lists of files to download.
"""
import pathlib
import sqlite3
import shutil
import subprocess
import sys

out = pathlib.Path(sys.argv[1])
root = pathlib.Path(__file__).resolve().parents[2]

INTER = pathlib.Path('/usr/share/fonts/opentype/inter')
NOTO = pathlib.Path('/usr/share/fonts/truetype/noto')
SCRIPTS = 'U+0020-024F,U+0259,U+0300-036F,U+0370-03FF,U+0400-052F,U+1E00-1EFF,U+2000-206F,' \
          'U+2070-209F,U+20A0-20BF,U+2100-214F,U+2150-218F,U+2190-21FF,U+2200-22FF,U+25A0-25FF,U+2713,U+2717'
# Scripts of the app's languages that Inter lacks: all that their shaping needs.
WHOLE = {'NotoSansArabic': 'U+0020,U+0600-06FF,U+200B-200F', 'NotoSansDevanagari': 'U+0020,U+0900-097F,U+200B-200F,U+25CC'}
FEATURES = 'kern,mark,mkmk,ccmp,locl,calt,liga,tnum,case,frac,sups,subs'


def subset(source, target, *what, features=None):
    subprocess.run(['pyftsubset', str(source), f'--output-file={target}', '--desubroutinize', '--no-hinting',
                    f'--layout-features={features or FEATURES}', '--name-IDs=1,2,4,6,13', *what], check=True)


def letters(font):
    from fontTools.ttLib import TTFont
    return set(TTFont(font, lazy=True).getBestCmap())


def fonts():
    folder = out / 'fonts'
    folder.mkdir(parents=True)
    for name in ('Inter-Regular', 'Inter-SemiBold'):
        subset(INTER / f'{name}.otf', folder / f'{name}.otf', f'--unicodes={SCRIPTS}')
    used = set()
    for pattern in ('app/**/*.cpp', 'app/**/*.h', 'app/**/*.txt', 'survey/**/*.cpp', 'horizon/**/*.cpp',
                    'platform/**/*.cpp'):
        for path in root.glob(pattern):
            used |= {ord(c) for c in path.read_text(encoding='utf-8', errors='ignore') if ord(c) > 127}
    missing = used - letters(INTER / 'Inter-Regular.otf')
    for name, codes in WHOLE.items():
        subset(NOTO / f'{name}-Regular.ttf', folder / f'{name}-Regular.ttf', f'--unicodes={codes}', features='*')
        missing -= letters(folder / f'{name}-Regular.ttf')
    for name in ('NotoSans', 'NotoSansSymbols', 'NotoSansSymbols2', 'NotoSansMath'):
        here = missing & letters(NOTO / f'{name}-Regular.ttf')
        if here:
            codes = ','.join(f'U+{c:04X}' for c in sorted(here))
            subset(NOTO / f'{name}-Regular.ttf', folder / f'{name}-Regular.ttf', f'--unicodes={codes}')
        missing -= here


def proj():
    folder = out / 'proj'
    folder.mkdir(parents=True)
    shutil.copy('/usr/share/proj/proj.db', folder / 'proj.db')
    database = sqlite3.connect(folder / 'proj.db')
    names = lambda kind: [r[0] for r in database.execute('SELECT name FROM sqlite_master WHERE type = ?', (kind,))]
    for trigger in names('trigger'):
        database.execute(f'DROP TRIGGER "{trigger}"')
    for table in names('table'):
        columns = [r[1] for r in database.execute(f'PRAGMA table_info("{table}")')]
        if 'auth_name' in columns:
            database.execute(f"DELETE FROM \"{table}\" WHERE auth_name NOT IN ('EPSG', 'OGC', 'PROJ')")
        for words in ('description', 'remarks', 'scope'):
            if words in columns:
                database.execute(f"UPDATE \"{table}\" SET {words} = '-'")
    for table in ('alias_name', 'supersession', 'deprecation', 'geoid_model', 'grid_alternatives', 'grid_packages'):
        database.execute(f'DELETE FROM {table}')
    # Where a system or a way between two is used: of those that are left, and in the order in which
    # they are looked up (half the bytes once pressed).
    database.execute("DELETE FROM usage WHERE object_auth_name NOT IN ('EPSG', 'OGC', 'PROJ') OR "
                     "object_table_name IN ('conversion', 'geodetic_datum', 'vertical_datum')")
    database.execute('DELETE FROM extent WHERE NOT EXISTS (SELECT 1 FROM usage WHERE '
                     'extent_auth_name = extent.auth_name AND extent_code = extent.code)')
    database.execute('CREATE TEMP TABLE sorted AS SELECT * FROM usage ORDER BY object_table_name, object_code')
    database.execute('DELETE FROM usage')
    database.execute('INSERT INTO usage SELECT * FROM sorted')
    database.commit()
    database.execute('VACUUM')
    database.close()


shutil.rmtree(out, ignore_errors=True)
fonts()
proj()
