"""Looks at each page of a PDF as poppler lays it out: words on words, words off the page, words under
7 pt, titles that nothing follows on their page, and pages whose lower third is empty (the last page
may end anywhere). Prints one line a fault."""
import glob
import os
import re
import subprocess
import sys
import tempfile

pdf = sys.argv[1]
boxes = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, text=True).stdout
faults = []
page = 0
pages = re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', boxes, re.S)
for width, height, body in pages:
    page += 1
    width, height = float(width), float(height)
    words = [
        (float(a), float(b), float(c), float(d), text)
        for a, b, c, d, text in re.findall(
            r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>', body
        )
    ]
    words.sort(key=lambda w: w[1])
    above_foot = [word for word in words if word[3] < height - 36 and re.search("[A-Za-z0-9]", word[4])]
    # Titles are set in 11.5 and 19 points, all that is said in 9 at most.
    if above_foot and max(w[3] - w[1] for w in above_foot if w[1] > above_foot[-1][1] - 4) > 11 * 1.21:
        faults.append(f"page {page}: a title at its foot: {above_foot[-1][4]}")
    for i, (x0, y0, x1, y1, text) in enumerate(words):
        if x0 < 15 or x1 > width - 15 or y0 < 10 or y1 > height - 10:
            faults.append(f"page {page}: off the page: {text}")
        # Inter's ascent and descent are 1.21 of its size.
        if y1 - y0 < 7 * 1.21 * 0.985 and re.search(r"\w", text):
            faults.append(f"page {page}: {(y1 - y0) / 1.21:.1f} pt: {text}")
        for u0, v0, u1, v1, other in words[i + 1 :]:
            if v0 > y1:
                break
            # Letters, not the air above and below them.
            tall = min(y1 - y0, v1 - v0)
            wide = min(x1, u1) - max(x0, u0)
            high = min(y1, v1) - max(y0, v0)
            if wide > 1 and high > 0.45 * tall and (x0, y0, text) != (u0, v0, other):
                faults.append(f"page {page}: overlap: {text} / {other} at {x0:.0f},{y0:.0f}")
with tempfile.TemporaryDirectory() as folder:
    subprocess.run(["pdftoppm", "-r", "20", "-gray", pdf, os.path.join(folder, "p")], check=True)
    images = sorted(glob.glob(os.path.join(folder, "p*.pgm")))
    for number, name in enumerate(images, 1):
        raw = open(name, "rb").read()
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
        w, h = int(head[1]), int(head[2])
        rows = [raw[head.end() + y * w : head.end() + (y + 1) * w] for y in range(h)]
        # The foot of each page is on all of them.
        inked = [y for y in range(int(h * 0.04), int(h * 0.94)) if min(rows[y]) < 200]
        if number < len(images) and (not inked or inked[-1] < h * 0.64):
            faults.append(f"page {number}: its lower third is empty")
print(f"{len(pages)} pages")
print("\n".join(faults))
