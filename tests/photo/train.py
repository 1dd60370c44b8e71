#!/usr/bin/env python3
"""Trains the two small networks of horizon/photo and writes photo_weights.inc.

  tests/photo/unpack.sh DIR all
  ninja -C build/release photo_features
  tests/photo/train.py DIR build/release/tests/photo_features horizon/photo/photo_weights.inc

Needs python3-numpy, python3-pil, python3-scipy. Learns from the photographs of tests/data that are
not held out, from the same with other skies, and from the panoramas of stellarium-data set before
drawn skies. The second network (is the line right in this column?) learns from lines found with
first networks that had not met the photograph.
"""
import csv
import glob
import os
import subprocess
import sys
import threading
import zlib

import numpy as np
from PIL import Image, ImageFilter
from scipy.ndimage import gaussian_filter

DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'data')
GROUND, SKY, OPEN = 0, 1, 2
FOLDS = 4


def rows(name):
    with open(os.path.join(DATA, name)) as f:
        return list(csv.DictReader(l for l in f if not l.startswith('#')))


class Photo:
    def __init__(self, row, folder):
        self.name, self.kind, self.group = row['photo'], row['kind'], row['group']
        path = f"{folder}/{row['package']}-{row['suite']}{row['file']}"
        im = Image.open(path).convert('RGB')
        self.image = im.resize((1000, round(1000 * im.height / im.width)), Image.LANCZOS)
        self.parts, self.areas = {}, []

    def truth(self):
        lo, hi = np.full(1000, np.nan), np.full(1000, np.nan)
        xs = np.arange(1000) + 0.5
        for part in self.parts.values():
            for (x0, y0), (x1, y1) in zip(part[:-1], part[1:]):
                for i in np.where((xs >= min(x0, x1) - 1) & (xs <= max(x0, x1) + 1))[0]:
                    t = [np.clip((xs[i] + d - x0) / (x1 - x0), 0, 1) for d in (-1, 1)] if x1 != x0 else (0, 1)
                    ys = [y0 + q * (y1 - y0) for q in t]
                    lo[i], hi[i] = np.nanmin([lo[i], *ys]), np.nanmax([hi[i], *ys])
        return lo, hi

    def mask(self):
        m = np.full((self.image.height, 1000), OPEN, np.uint8)
        for x0, y0, x1, y1, what in self.areas:
            m[y0:y1, x0:x1] = what
        if self.kind in ('no-line', 'all-sky') and not self.areas:
            m[:] = SKY if self.kind == 'all-sky' else GROUND
        lo, hi = self.truth()
        for x in np.where(~np.isnan(lo))[0]:
            a, b = int(max(0, lo[x] - 2)), int(hi[x] + 3)
            if hi[x] > 0.5:
                m[:a, x] = SKY
            m[a:b, x], m[b:, x] = OPEN, GROUND
        return Image.fromarray(m)

    def whole(self):
        return bool(self.parts) and np.isnan(self.truth()[0]).mean() < 0.35


def photos(folder):
    found = {}
    for row in rows('photographs.csv'):
        if row['third'] == 'held-out':
            continue
        try:
            found[row['photo']] = Photo(row, folder)
        except FileNotFoundError:
            print('not there, left out:', row['photo'])
    for row in rows('photo_traces.csv'):
        if row['photo'] in found:
            found[row['photo']].parts.setdefault(row['part'], []).append((float(row['x']), float(row['y'])))
    for row in rows('photo_areas.csv'):
        if row['photo'] in found:
            found[row['photo']].areas.append(tuple(int(row[k]) for k in ('x0', 'y0', 'x1', 'y1', 'sky')))
    return list(found.values())


# Skies and pictures made from others.

def cloud(h, w, rng):
    f = np.fft.rfftfreq(w)[None, :] ** 2 + np.fft.fftfreq(h)[:, None] ** 2
    f[0, 0] = 1
    z = np.fft.irfft2((rng.normal(size=f.shape) + 1j * rng.normal(size=f.shape)) / f ** rng.uniform(0.8, 1.2), s=(h, w))
    return (z - z.min()) / (z.max() - z.min())


def drawn_sky(h, w, rng):
    tops = [(60, 110, 190), (110, 160, 220), (150, 155, 165), (200, 205, 212), (40, 60, 110), (90, 90, 140), (30, 30, 50), (120, 120, 130)]
    feet = [(180, 205, 235), (235, 235, 235), (190, 190, 195), (250, 200, 140), (255, 150, 90), (220, 225, 230), (150, 150, 170), (250, 250, 250)]
    t, b = np.array(tops[rng.integers(8)], float), np.array(feet[rng.integers(8)], float)
    s = np.broadcast_to(t + (b - t) * (np.linspace(0, 1, h)[:, None] ** rng.uniform(0.5, 2.5))[:, :, None], (h, w, 3)).copy()
    if rng.random() < 0.6:
        k = np.clip((cloud(h, w, rng) - rng.uniform(0.3, 0.6)) * rng.uniform(2, 8), 0, 1)[..., None] * rng.uniform(0.3, 1)
        s = s * (1 - k) + np.array(rng.choice([[250, 250, 252], [200, 200, 208], [110, 112, 120], [255, 210, 160]]), float) * k
    if rng.random() < 0.25:  # a sun
        yy, xx = np.mgrid[:h, :w]
        d = np.hypot(xx - rng.uniform(0, w), yy - rng.uniform(0.2, 1) * h) / w
        k = np.exp(-(d / rng.uniform(0.05, 0.2)) ** 2)[..., None]
        s = s * (1 - k) + 255 * k
    return s + rng.normal(0, rng.uniform(0.3, 3), (h, w, 3))


def picture(a):
    return Image.fromarray(np.clip(a, 0, 255).astype(np.uint8))


def real_skies(all_photos):
    skies = []
    for p in all_photos:
        a = np.asarray(p.image).astype(float)
        if p.kind == 'all-sky':
            skies.append(a)
        elif p.whole():
            h = int(np.nanmin(p.truth()[0])) - 4
            if h > 90:
                skies.append(a[:h])
    return skies


def other_sky(im, mask, skies, rng):
    k, a = np.asarray(mask), np.asarray(im).astype(float)
    h, w = k.shape
    sky = (k == SKY) | ((k == OPEN) & (k != OPEN).any(0)[None, :] & (np.cumsum(k == GROUND, axis=0) == 0))
    if rng.random() < 0.5:
        s = drawn_sky(h, w, rng)
    else:
        q = skies[rng.integers(len(skies))]
        s = 255 * (np.asarray(picture(q).resize((w, h))).astype(float) / 255) ** rng.uniform(0.7, 1.4)
    alpha = gaussian_filter(sky.astype(float), 0.7)[..., None]
    g = a * rng.uniform(0.5, 1.15)
    if rng.random() < 0.3:  # haze, thickest at the line
        lo = np.where(sky.any(0), h - np.argmax(sky[::-1], axis=0), 0)
        t = rng.uniform(0.1, 0.5) * np.exp(-np.maximum((np.arange(h)[:, None] - lo[None, :]) / h, 0) * rng.uniform(2, 10))
        g = g * (1 - t[..., None]) + t[..., None] * s.mean((0, 1))
    return picture(s * alpha + g * (1 - alpha)), mask


def panoramas(folder):
    out = []
    land = f'{folder}/stellarium-data-bookworm/usr/share/stellarium/landscapes/'
    for f in sorted(glob.glob(land + 'hurricane/hurricane[1-8].png') + glob.glob(land + 'garching/garching-gl[1-4].png')
                    + glob.glob(land + 'grossmugl/grossmugl_leeberg_crop*.png') + glob.glob(land + 'trees/trees_512.png')):
        a = np.asarray(Image.open(f).convert('RGBA')).astype(float)
        out += [a[:, k:k + 800] for k in range(0, a.shape[1] - 700, 500)] if a.shape[1] > 1100 else [a]
    return out


def before_a_sky(a, rng):
    h, w = a.shape[:2]
    more = int(rng.uniform(0, 0.4) * h)
    s, g = drawn_sky(h + more, w, rng), np.zeros((h + more, w, 3))
    g[more:] = a[:, :, :3]
    alpha = np.vstack([np.zeros((more, w)), a[:, :, 3] / 255])
    g *= rng.uniform(0.35, 1.1)
    if rng.random() < 0.4:
        k = rng.uniform(0.1, 0.6)
        g = g * (1 - k) + k * s[min(h - 1, more + h // 3)].mean(0)
    m = np.where(alpha > 0.9, GROUND, np.where(alpha < 0.1, SKY, OPEN)).astype(np.uint8)
    m[(m == SKY) & np.maximum.accumulate(alpha > 0.9, axis=0)] = OPEN
    return picture(s * (1 - alpha[..., None]) + g * alpha[..., None]), Image.fromarray(m)


def altered(im, m, rng, plain=False):
    if plain:
        return im, m
    if rng.random() < 0.5:
        im, m = im.transpose(0), m.transpose(0)
    if rng.random() < 0.7:
        w, h = rng.uniform(0.5, 1) * im.width, rng.uniform(0.5, 1) * im.height
        x, y = rng.uniform(0, im.width - w), rng.uniform(0, im.height - h)
        box = tuple(int(q) for q in (x, y, x + w, y + h))
        im, m = im.crop(box), m.crop(box)
    w = int(rng.choice([1000, 1000, 800, 640, 400]))
    if im.width != w:
        im = im.resize((w, max(60, im.height * w // im.width)), Image.BILINEAR)
        m = m.resize(im.size, Image.NEAREST)
    a = 255 * (np.asarray(im).astype(float) / 255) ** rng.uniform(0.6, 1.6)
    grey = a.mean(2, keepdims=True)
    a = grey + (a - grey) * rng.uniform(0.0 if rng.random() < 0.15 else 0.5, 1.5)
    a = (a * rng.uniform(0.9, 1.1, 3) - 128) * rng.uniform(0.6, 1.15) + 128 + rng.uniform(-15, 15)
    if rng.random() < 0.4:
        a += rng.normal(0, rng.uniform(1, 7), a.shape)
    im = picture(a)
    return (im.filter(ImageFilter.GaussianBlur(rng.uniform(0.5, 2))) if rng.random() < 0.25 else im), m


# The networks.

def trained(X, Y, W, a, b, epochs, decay, rate, seed=0):
    rng, n = np.random.default_rng(seed), X.shape[1]
    mean, scale = X.mean(0), 1 / (X.std(0) + 1e-3)
    Z = np.clip((X - mean) * scale, -4, 4).astype(np.float32)
    P = [rng.normal(0, np.sqrt(2 / n), (n, a)), np.zeros(a), rng.normal(0, np.sqrt(2 / a), (a, b)), np.zeros(b),
         rng.normal(0, np.sqrt(1 / b), (b, 1)), np.zeros(1)]
    P = [p.astype(np.float32) for p in P]
    m, v, t = [0 * p for p in P], [0 * p for p in P], 0
    for epoch in range(epochs):
        order, step = rng.permutation(len(Z)), rate * 0.5 * (1 + np.cos(np.pi * epoch / epochs))
        for i in range(0, len(order), 4096):
            k = order[i:i + 4096]
            x = Z[k] + rng.normal(0, 0.1, (len(k), n)).astype(np.float32)
            a0 = x @ P[0] + P[1]
            a1 = np.maximum(a0, 0)
            b0 = a1 @ P[2] + P[3]
            b1 = np.maximum(b0, 0)
            p = 1 / (1 + np.exp(-np.clip((b1 @ P[4] + P[5])[:, 0], -30, 30)))
            d = ((p - Y[k] * 0.98 - 0.01) * W[k] / W[k].mean() / len(k))[:, None].astype(np.float32)
            db = (d @ P[4].T) * (b0 > 0)
            da = (db @ P[2].T) * (a0 > 0)
            t += 1
            for j, g in enumerate([x.T @ da, da.sum(0), a1.T @ db, db.sum(0), b1.T @ d, d.sum(0)]):
                m[j], v[j] = 0.9 * m[j] + 0.1 * g, 0.999 * v[j] + 0.001 * g * g
                P[j] -= step * (m[j] / (1 - 0.9 ** t)) / (np.sqrt(v[j] / (1 - 0.999 ** t)) + 1e-8)
                if j % 2 == 0:
                    P[j] -= step * decay * P[j]
    return np.concatenate([mean, scale] + [p.ravel() for p in P]).astype(np.float32)


def features(program, words, items):
    p = subprocess.Popen([program, *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def feed():
        for im, _ in items:
            p.stdin.write(b'P6 %d %d 255\n' % im.size + im.tobytes())
        p.stdin.close()
    threading.Thread(target=feed).start()
    for im, m in items:
        w, h, f = np.frombuffer(p.stdout.read(12), np.float32).astype(int)
        yield im, m, w, h, f, p.stdout


def sky_samples(program, items):
    out = []
    for im, m, w, h, f, pipe in features(program, ['sky'], items):
        X = np.frombuffer(pipe.read(4 * w * h * f), np.float32).reshape(w, h, f)
        out.append((X, np.asarray(m.resize((w, h), Image.NEAREST)).T))
    return out


def line_samples(program, weights, items, boxed):
    out = []
    for (im, m, w, h, f, pipe), box in zip(features(program, ['line', weights], items), boxed):
        X = np.frombuffer(pipe.read(4 * w * (f + 1)), np.float32).reshape(w, f + 1)
        k = np.asarray(m)[:, :w]
        sky, ground = k == SKY, k == GROUND
        some_sky, some_ground = sky.any(0), ground.any(0)
        lo = np.where(some_sky, k.shape[0] - np.argmax(sky[::-1], axis=0), 0)
        hi = np.where(some_ground, np.argmax(ground, axis=0), k.shape[0])
        row = X[:, 0] * (k.shape[0] / h)
        off = np.maximum(0, np.maximum(lo - row, row - hi)) * 1000 / k.shape[1]
        label = np.where(some_sky & some_ground, off < 8, np.where(some_sky | some_ground, 0, 2)).astype(int)
        label[some_sky & some_ground & (lo > hi + 3)] = 2
        if box:  # between marked areas nothing can be said but that the line is outside its place
            label = np.where((some_sky | some_ground) & (off > 8), 0, 2)
        out.append((X[:, 1:], label))
    return out


def drawn(samples, count, rng, weights=None):
    X, Y, W = [], [], []
    for i, (F, label) in enumerate(samples):
        k = np.argwhere(label != OPEN)
        if len(k) == 0:
            continue
        k = k[rng.integers(0, len(k), count)]
        at = tuple(k.T)
        X.append(F[at])
        Y.append(label[at])
        W.append(np.full(count, 1.0 if weights is None else weights[i]))
    return np.concatenate(X), np.concatenate(Y).astype(np.float32), np.concatenate(W).astype(np.float32)


def emitted(name, w):
    text = f'inline constexpr float {name}[{len(w)}] = {{\n'
    for i in range(0, len(w), 10):
        text += '    ' + ', '.join((lambda s: s + ('F' if '.' in s or 'e' in s else '.0F'))('%.5g' % v) for v in w[i:i + 10]) + ',\n'
    return text + '};\n'


def main(folder, program, target):
    rng = np.random.default_rng(1)
    everything = photos(folder)
    groups = sorted({p.group for p in everything}, key=lambda g: zlib.crc32(g.encode()))
    fold = {g: i % FOLDS for i, g in enumerate(groups)}
    skies = real_skies(everything)
    items, own = [], []
    for p in everything:
        many = sum(q.group == p.group for q in everything) > 3
        count = (3 if many else 8) + ((2 if many else 6) if p.whole() else 0)
        m = p.mask()
        for r in range(count):
            a = other_sky(p.image, m, skies, rng) if p.whole() and r % 2 else (p.image, m)
            items.append(altered(*a, rng, plain=r == 0))
            own.append(p.group)
    for a in panoramas(folder):
        for _ in range(6):
            items.append(altered(*before_a_sky(a, rng), rng))
            own.append(None)
    print(len(items), 'pictures for the sky', flush=True)
    samples = sky_samples(program, items)

    def sky_net(left_out):
        use = [s for s, g in zip(samples, own) if g is None or fold[g] != left_out]
        return trained(*drawn(use, 900, rng), 24, 12, epochs=7, decay=6e-3, rate=3e-3)

    columns, weights = [], []
    for k in range(FOLDS):
        sky_net(k).tofile('fold.bin')
        items, boxed = [], []
        for p in everything:
            if fold[p.group] != k:
                continue
            m = p.mask()
            for r in range(4):
                a = other_sky(p.image, m, skies, rng) if p.whole() and r == 3 else (p.image, m)
                items.append(altered(*a, rng, plain=r == 0))
                boxed.append(bool(p.areas) and not p.parts)
                weights.append(1.5 if p.kind in ('no-line', 'all-sky') else 1.0)
        columns += line_samples(program, 'fold.bin', items, boxed)
        print('fold', k, flush=True)
    os.remove('fold.bin')
    text = '// Written by tests/photo/train.py; not to be changed by hand.\n'
    text += emitted('kSkyWeights', sky_net(-1))
    text += emitted('kLineWeights', trained(*drawn(columns, 150, rng, weights), 16, 8, epochs=10, decay=1e-3, rate=4e-3))
    with open(target, 'w') as f:
        f.write(text)


if __name__ == '__main__':
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
