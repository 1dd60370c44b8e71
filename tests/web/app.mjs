// app.mjs: drives the app in its page as a hand does: touches where the app says that something can
// be touched, text through the hidden field, the phone turned and moved by the browser's emulation.
import {setTimeout as sleep} from 'node:timers/promises';
import {hold} from './browser.mjs';

export class App {
  constructor(page, session) {
    this.page = page;
    this.session = session;
    this.touches = 0;
  }

  async seen() {
    return JSON.parse(await this.page.evaluate(() => Module.UTF8ToString(Module._adret_seen())));
  }
  // Asked from here: the page's content security policy forbids waiting inside it.
  async until(question, what, most_s = 30) {
    let seen;
    for (const end = Date.now() + most_s * 1000; Date.now() < end; await sleep(30)) {
      seen = await this.seen();
      const answer = question(seen);
      if (answer) return answer;
    }
    throw new Error(`${what}; there is ${seen.words.join(' | ')}; to touch: ${seen.touch.map((t) => t.label).join(' | ')}`);
  }
  settle(most_s = 30) { return this.until((s) => !s.busy, 'the app does not come to rest', most_s); }
  expect(words, most_s = 30) {
    return this.until((s) => s.words.some((w) => w.includes(words)), `"${words}" is not shown`, most_s);
  }

  async finger(kind, x, y) {
    await this.session.send('Input.dispatchTouchEvent', {type: kind, touchPoints: kind === 'touchEnd' ? [] : [{x, y}]});
  }
  async drag(x, from, to) {
    await this.finger('touchStart', x, from);
    for (let i = 1; i <= 6; ++i) await this.finger('touchMove', x, from + (to - from) * i / 6);
    for (let i = 0; i < 4; ++i) {  // rests before it lifts, so that nothing glides on
      await sleep(40);
      await this.finger('touchMove', x, to);
    }
    await this.finger('touchEnd');
  }
  async touch(label) {
    const last = (s) => s.touch.filter((t) => !t.scroll && t.label === label).pop();
    for (let tries = 0; tries < 40; ++tries) {
      const hit = await this.until(last, `nothing to touch is named "${label}"`, 10);
      const [x, y, w, h] = hit.visible, [bx, by, bw, bh] = hit.box;
      if (w * h > 0.6 * bw * bh) {
        if (!hit.enabled) {
          await sleep(100);
          continue;
        }
        await this.finger('touchStart', x + w / 2, y + h / 2);
        await this.finger('touchEnd');
        ++this.touches;
        await sleep(30);
        return;
      }
      const scroll = (await this.seen()).touch.filter((t) => t.scroll && t.box[0] <= bx + 1 && t.box[0] + t.box[2] >= bx + bw - 1).pop();
      if (!scroll) throw new Error(`"${label}" cannot be brought into sight`);
      const [sx, sy, sw, sh] = scroll.visible, middle = sy + sh / 2;
      const by_ = Math.max(-0.6 * sh, Math.min(0.6 * sh, middle - (by + bh / 2)));
      await this.drag(sx + sw / 2, middle - by_ / 2, middle + by_ / 2 + Math.sign(by_) * 10);
      await sleep(60);
    }
    throw new Error(`"${label}" cannot be touched`);
  }
  async write(label, text) {
    await this.touch(label);
    for (let i = 0; i < 100; ++i, await sleep(20)) {
      const field = await this.page.evaluate(() =>
        document.activeElement.id === 'writing' ? Module.UTF8ToString(Module._adret_writing_field()) : '');
      if (field === label) break;
    }
    await this.session.send('Input.insertText', {text});
    await sleep(50);
  }

  // The phone upright, its camera at a magnetic bearing and an elevation; W3C Device Orientation:
  // R = Rz(alpha) Rx(beta) Ry(gamma), the camera looks along -z. A hand is never quite still, and
  // Chromium tells only of turns by a tenth of a degree.
  async aim(bearing, elevation) {
    const from = this.bearing ?? bearing, turn = ((bearing - from + 540) % 360) - 180;
    const steps = Math.max(1, Math.round(Math.abs(turn) / 6));
    Object.assign(this, {bearing: from, elevation});
    this.hold();
    for (let i = 1; i <= steps; ++i) {
      this.bearing = (from + turn * i / steps + 360) % 360;
      await sleep(30);
    }
    await sleep(700);
  }
  // From the first aim on the phone is in the hand: its sensors give readings all the time.
  hold() {
    if (this.held) return;
    this.held = (async () => {
      for (; !this.dropped; await sleep(25)) await this.pose().catch(() => { this.dropped = true; });
    })();
  }
  async pose() {
    this.shake = !this.shake;
    await hold(this.session, (360 - this.bearing + (this.shake ? 0.1 : -0.1) + 360) % 360, 90 + this.elevation, 0);
  }
}
