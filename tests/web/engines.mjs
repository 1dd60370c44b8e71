// engines.mjs: one page in each of three engines, by what all of them can do: open an address, run a
// function in the page, end. Chromium by its own protocol, Firefox by WebDriver BiDi, WebKit by W3C
// WebDriver (WebKitGTK's MiniBrowser on a virtual display).
import {spawn} from 'node:child_process';
import {setTimeout as sleep} from 'node:timers/promises';
import puppeteer from 'puppeteer-core';
import {dropProfile, launch, newProfile} from './browser.mjs';

async function chromium() {
  const profile = newProfile(), {context, kill} = await launch(profile);
  const page = context.pages()[0];
  return {
    go: (url) => page.goto(url),
    run: (act, value) => page.evaluate(act, value),
    end: async () => { await kill(); dropProfile(profile); },
  };
}

async function firefox() {
  const profile = newProfile();
  const browser = await puppeteer.launch({
    browser: 'firefox', executablePath: '/usr/bin/firefox-esr', headless: true, userDataDir: profile,
    extraPrefsFirefox: {'dom.storageManager.prompt.testing': true, 'dom.storageManager.prompt.testing.allow': true},
  });
  const page = (await browser.pages())[0] || await browser.newPage();
  await page.setViewport({width: 412, height: 892});
  return {
    go: (url) => page.goto(url),
    run: (act, value) => page.evaluate(act, value),
    end: async () => { browser.process().kill('SIGKILL'); await sleep(300); dropProfile(profile); },
  };
}

async function webkit() {
  const home = newProfile(), port = 20000 + Math.floor(Math.random() * 20000);
  const driver = spawn('xvfb-run', ['-a', '-s', '-screen 0 1000x1000x24', 'WebKitWebDriver', `--port=${port}`],
                       {stdio: 'ignore', detached: true, env: {...process.env, HOME: home, XDG_DATA_HOME: home, XDG_CACHE_HOME: home, WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: '1',
                                                                  // given by Safari to an isolated page; a driven MiniBrowser has to be told
                                                                  JSC_useSharedArrayBuffer: '1'}});
  const ask = async (method, what, body) => {
    const answer = await fetch(`http://127.0.0.1:${port}${what}`, {method, body: body && JSON.stringify(body)});
    const {value} = await answer.json();
    if (value && value.error) throw new Error(`${value.error}: ${value.message}`);
    return value;
  };
  let session;
  for (let i = 0; !session; ++i) {
    try {
      session = (await ask('POST', '/session', {capabilities: {alwaysMatch: {'webkitgtk:browserOptions': {
        binary: '/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser', args: ['--automation', '--geometry=412x892']}}}})).sessionId;
    } catch (error) {
      if (i === 60) throw error;
      await sleep(250);
    }
  }
  const here = `/session/${session}`;
  await ask('POST', here + '/window/rect', {x: 0, y: 0, width: 412, height: 892});
  await ask('POST', here + '/timeouts', {script: 120000, pageLoad: 60000});
  return {
    go: (url) => ask('POST', here + '/url', {url}),
    run: async (act, value) => {
      const done = await ask('POST', here + '/execute/async', {
        script: `const done = arguments[1]; Promise.resolve().then(() => (${act})(arguments[0])).then((value) => done({value}), (error) => done({error: String(error)}))`,
        args: [value ?? null]});
      if (done.error) throw new Error(done.error);
      return done.value;
    },
    end: async () => {
      await ask('DELETE', here).catch(() => {});
      try { process.kill(-driver.pid, 'SIGKILL'); } catch { /* gone already */ }
      await sleep(300);
      dropProfile(home);
    },
  };
}

export const engines = {chromium, firefox, webkit};
