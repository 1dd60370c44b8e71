// durable_files.js: the page loads it before the program. Everything below /adret survives.
//
// The files live in memory, where SQLite and the rest read and write them without waiting. Every
// write marks the blocks it touched. When the program next returns to the browser, all marked blocks
// of all files go into ONE IndexedDB transaction with durability "strict". What is stored is
// therefore always what a disk would hold had the process been killed at such a moment, and SQLite's
// own log recovers from that. `durable()` is true once nothing is marked or on its way.
//
// What could not be read whole is never written to: the program is then not started, the page says so
// (state 'failed', problem 'unread') and offers what can be read as a zip (rescued()). A number once
// given to a file is never given to another: a new file is added, not put.
// A second copy lies in the origin's private files. A browser that finds its database damaged after a
// kill throws it away whole (docs/web.md); a database that holds nothing while there is a copy is filled
// from it, and that is said. The copy is made at the start and whenever nothing has changed for some
// seconds, so it may lack the last of them. A copy that cannot be read now is no empty copy: the
// program is not started then either, so that nothing takes its place.
// docs/web.md says what each browser promises.
'use strict';

// A zip without compression of [name, bytes] (APPNOTE 6.3: local headers, central directory, end).
function zipped(files) {
  const table = new Uint32Array(256).map((_, n) => {
    for (let k = 0; k < 8; ++k) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
    return n;
  });
  const parts = [], directory = [];
  let at = 0;
  for (const [name, bytes] of files) {
    let crc = 0xffffffff;
    for (const byte of bytes) crc = table[(crc ^ byte) & 255] ^ (crc >>> 8);
    const label = new TextEncoder().encode(name);
    const head = (signature, more) => {
      const view = new DataView(new ArrayBuffer(more ? 46 : 30));
      const from = more ? 6 : 4;
      view.setUint32(0, signature, true);
      if (more) view.setUint16(4, 20, true);
      view.setUint16(from, 20, true);
      view.setUint16(from + 2, 0x800, true);  // names in UTF-8
      view.setUint16(from + 8, 0x21, true);   // 1 January 1980: no time is kept
      view.setUint32(from + 10, (crc ^ 0xffffffff) >>> 0, true);
      view.setUint32(from + 14, bytes.length, true);
      view.setUint32(from + 18, bytes.length, true);
      view.setUint16(from + 22, label.length, true);
      if (more) view.setUint32(42, at, true);
      return view.buffer;
    };
    directory.push(head(0x02014b50, true), label);
    parts.push(head(0x04034b50, false), label, bytes);
    at += 30 + label.length + bytes.length;
  }
  const size = directory.reduce((sum, part) => sum + part.byteLength, 0);
  const end = new DataView(new ArrayBuffer(22));
  end.setUint32(0, 0x06054b50, true);
  end.setUint16(8, files.length, true);
  end.setUint16(10, files.length, true);
  end.setUint32(12, size, true);
  end.setUint32(16, at, true);
  return new Blob([...parts, ...directory, end.buffer], {type: 'application/zip'});
}

const keepFiles = (() => {
let FS, MEMFS;  // the program's

const adretStore = {
  root: '/adret',
  block: 16384,
  database: null,
  problem: '',      // why nothing is kept; empty = all well
  dirty: new Map(), // node -> set of block numbers
  treeChanged: false,
  flying: false,    // a transaction is on its way
  waiting: false,   // a flush is due at the end of this turn
  leaving: false,   // the page is going: see start()
  loading: false,
  nextId: 1,
  stored: new Map(), // id -> JSON of what the database holds about it
  changes: 0,       // counts every mark
  copied: new Map(), // path -> what the second copy holds of it: {name, size, time, change}
  copying: false,
  copyTimer: 0,
  onState: () => {},

  // "changed" before anything is stored, "stored" after, "failed" with the problem.
  durable() { return !this.problem && !this.flying && !this.treeChanged && this.dirty.size === 0; },

  // Whether a file with this ending is stored.
  holds(ending) {
    for (const text of this.stored.values()) if (JSON.parse(text)[0].endsWith(ending)) return true;
    return false;
  },

  keeps(node) {
    return !this.loading && node.mount && node.mount.mountpoint === this.root;
  },

  mark(node, from, to) {
    if (!this.keeps(node)) return;
    let blocks = this.dirty.get(node);
    if (!blocks) this.dirty.set(node, blocks = new Set());
    for (let b = Math.floor(from / this.block); b * this.block < to; ++b) blocks.add(b);
    node.adretChange = this.changes + 1;
    this.soon();
  },

  markTree(node) {
    if (!this.keeps(node)) return;
    this.treeChanged = true;
    this.soon();
  },

  soon() {
    ++this.changes;
    if (this.waiting || this.flying) return;
    this.waiting = true;
    queueMicrotask(() => {
      this.waiting = false;
      this.flush();
    });
  },

  files() {
    const found = [];
    const walk = (node, path) => {
      for (const name in node.contents) {
        const child = node.contents[name];
        if (FS.isDir(child.mode)) {
          found.push({path: path + '/' + name, node: child, folder: true});
          walk(child, path + '/' + name);
        } else if (FS.isFile(child.mode)) {
          found.push({path: path + '/' + name, node: child, folder: false});
        }
      }
    };
    walk(FS.lookupPath(this.root).node, '');
    return found;
  },

  flush() {
    if (this.flying || this.leaving || !this.database) return;
    if (!this.treeChanged && this.dirty.size === 0) return;
    const dirty = this.dirty, treeChanged = this.treeChanged;
    this.dirty = new Map();
    this.treeChanged = false;
    this.flying = true;
    const before = new Map(this.stored);
    const failed = (error) => {
      this.flying = false;
      this.stored = before;
      for (const [node, blocks] of dirty) {
        const now = this.dirty.get(node);
        if (!now) this.dirty.set(node, blocks);
        else for (const b of blocks) now.add(b);
      }
      this.treeChanged = this.treeChanged || treeChanged;
      const full = error && error.name === 'QuotaExceededError';
      this.onState('failed', full ? 'full' : 'failed');
      setTimeout(() => this.flush(), full ? 10000 : 2000);
    };
    let transaction;
    try {
      transaction = this.database.transaction(['files', 'blocks'], 'readwrite', {durability: 'strict'});
      const files = transaction.objectStore('files'), blocks = transaction.objectStore('blocks');
      const gone = new Set(this.stored.keys());
      for (const {path, node, folder} of this.files()) {
        if (!node.adretId) {
          node.adretId = this.nextId++;
          if (!folder && node.usedBytes > 0 && !dirty.has(node)) dirty.set(node, new Set());
          // Every block of a file that moved in from elsewhere.
          if (dirty.has(node)) for (let b = 0; b * this.block < node.usedBytes; ++b) dirty.get(node).add(b);
        }
        gone.delete(node.adretId);
        const entry = {path, folder, size: folder ? 0 : node.usedBytes, time: node.timestamp};
        const text = JSON.stringify([path, folder, entry.size]);
        if (this.stored.get(node.adretId) !== text) {
          if (this.stored.has(node.adretId)) files.put(entry, node.adretId);
          else files.add(entry, node.adretId);
          this.stored.set(node.adretId, text);
        }
        const marked = folder ? null : dirty.get(node);
        if (!marked) continue;
        const last = Math.ceil(node.usedBytes / this.block);
        for (const b of marked) {
          if (b < last) {
            const bytes = node.contents.slice(b * this.block, Math.min(node.usedBytes, (b + 1) * this.block));
            blocks.put(bytes, [node.adretId, b]);
          } else {
            blocks.delete([node.adretId, b]);
          }
        }
      }
      for (const id of gone) {
        files.delete(id);
        blocks.delete(IDBKeyRange.bound([id, 0], [id, Infinity]));
        this.stored.delete(id);
      }
      if (transaction.commit) transaction.commit();
    } catch (error) {
      return failed(error);
    }
    transaction.oncomplete = () => {
      this.flying = false;
      if (this.treeChanged || this.dirty.size) this.flush();
      else this.onState('stored', '');
      this.copySoon(3000);
    };
    transaction.onabort = () => failed(transaction.error);
  },

  // Wrapped once, before anything below /adret is made; the tables are shared by all nodes.
  watch() {
    const file = MEMFS.ops_table.file, dir = MEMFS.ops_table.dir, store = this;
    const after = (table, name, act) => {
      const plain = table[name];
      table[name] = function (...args) {
        const result = plain.apply(this, args);
        act(result, ...args);
        return result;
      };
    };
    after(file.stream, 'write', (written, stream, buffer, offset, length, position) =>
      store.mark(stream.node, position, position + written));
    after(file.stream, 'allocate', (_, stream, offset, length) => store.mark(stream.node, offset, offset + length));
    after(file.stream, 'msync', (_, stream, buffer, offset, length) =>
      store.mark(stream.node, offset, offset + length));
    const setattr = file.node.setattr;
    file.node.setattr = function (node, attributes) {
      const before = node.usedBytes;
      setattr.call(this, node, attributes);
      if (attributes.size === undefined) return;
      // The block that the end falls into changes too: what lay behind the end must not come back.
      const least = Math.min(before, node.usedBytes);
      store.mark(node, Math.max(0, least - 1), Math.max(before, node.usedBytes, 1));
      store.markTree(node);
    };
    after(dir.node, 'mknod', (_, parent) => store.markTree(parent));
    after(dir.node, 'rename', (_, node, folder) => { store.markTree(node); store.markTree(folder); });
    after(dir.node, 'unlink', (_, parent) => store.markTree(parent));
    after(dir.node, 'rmdir', (_, parent) => store.markTree(parent));
  },

  open() {
    return new Promise((done) => {
      let request;
      try {
        request = indexedDB.open('adret', 1);
      } catch (error) {
        return done(String(error));
      }
      request.onupgradeneeded = () => {
        request.result.createObjectStore('files');
        request.result.createObjectStore('blocks');
      };
      request.onerror = () => done(String(request.error));
      request.onblocked = () => done('blocked');
      request.onsuccess = () => {
        this.database = request.result;
        this.database.onclose = () => {
          this.database = null;
          this.problem = 'closed';
          this.onState('failed', 'closed');
        };
        done('');
      };
    });
  },

  all(request) {
    return new Promise((done, fail) => {
      request.onsuccess = () => done(request.result);
      request.onerror = () => fail(request.error);
    });
  },

  async read() {
    const transaction = this.database.transaction(['files', 'blocks'], 'readonly');
    const files = transaction.objectStore('files'), blocks = transaction.objectStore('blocks');
    const [ids, entries] = await Promise.all([this.all(files.getAllKeys()), this.all(files.getAll())]);
    const contents = await Promise.all(ids.map((id, i) => {
      if (entries[i].folder) return null;
      const range = IDBKeyRange.bound([id, 0], [id, Infinity]);
      return Promise.all([this.all(blocks.getAllKeys(range)), this.all(blocks.getAll(range))]);
    }));
    return [ids, entries, contents];
  },

  async load() {
    // Once more where the first reading failed: browsers short of memory refuse single requests.
    const [ids, entries, contents] = await this.read().catch(() => this.read());
    ids.forEach((id, i) => {
      const entry = entries[i], path = this.root + entry.path;
      if (entry.folder) {
        FS.mkdirTree(path);
      } else {
        FS.mkdirTree(path.slice(0, path.lastIndexOf('/')));
        FS.writeFile(path, new Uint8Array(0));
        const node = FS.lookupPath(path).node, bytes = new Uint8Array(entry.size);
        if (contents[i][0].length < Math.ceil(entry.size / this.block)) throw new Error(entry.path);
        contents[i][0].forEach((key, k) => {
          const part = contents[i][1][k], at = key[1] * this.block;
          if (at < bytes.length) bytes.set(part.subarray(0, bytes.length - at), at);
        });
        node.contents = bytes;
        node.usedBytes = entry.size;
        node.timestamp = entry.time;
      }
      FS.lookupPath(path).node.adretId = id;
      this.stored.set(id, JSON.stringify([entry.path, entry.folder, entry.size]));
      this.nextId = Math.max(this.nextId, id + 1);
    });
  },

  async start(fs) {
    FS = fs;
    MEMFS = fs.filesystems.MEMFS;
    FS.mkdir(this.root);
    FS.mount(MEMFS, {}, this.root);
    this.watch();
    // WebKit keeps half of a transaction that begins while its page goes: what it takes out, not what
    // it puts in. Nothing is begun then in any engine; a page that is shown again goes on.
    addEventListener('pagehide', () => { this.leaving = true; });
    addEventListener('pageshow', () => {
      this.leaving = false;
      this.flush();
    });
    this.loading = true;
    let restored = [];
    this.problem = await this.open();
    if (!this.problem) {
      try {
        await this.load();
        if (!this.stored.size) restored = await this.restore();
      } catch (error) {
        this.problem = String(error);
        this.database.close();
        this.database = null;
        this.onState('failed', 'unread');
        return new Promise(() => {});  // the program is not started: it would see less than there is
      }
    }
    this.loading = false;
    if (this.problem) this.onState('failed', 'none');
    for (const node of restored) this.mark(node, 0, node.usedBytes);
    if (restored.length) this.markTree(FS.lookupPath(this.root).node);
    if (restored.length) this.onState('restored', '');
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') this.copy();
    });
    this.copySoon(0);
  },

  // ---- the second copy: files that never change once written, and a list of them, put in place last
  async copies(create) {
    if (!navigator.storage || !navigator.storage.getDirectory || !FileSystemFileHandle.prototype.createWritable)
      return null;
    return (await navigator.storage.getDirectory()).getDirectoryHandle('copy', {create});
  },

  async copyList(folder) {
    return JSON.parse(await (await (await folder.getFileHandle('list.json')).getFile()).text());
  },

  async copyOf(folder, name) {
    return new Uint8Array(await (await (await folder.getFileHandle(name)).getFile()).arrayBuffer());
  },

  copySoon(in_ms) {
    clearTimeout(this.copyTimer);
    this.copyTimer = setTimeout(() => this.copy(), in_ms);
  },

  // Begun again where anything changes meanwhile: the list stands for one moment of all files.
  async copy() {
    if (this.copying || this.leaving || !this.database || !this.durable()) return;
    this.copying = true;
    try {
      const folder = await this.copies(true);
      if (!folder) return;
      if (!this.copied.size)
        for (const each of await this.copyList(folder).catch(() => [])) this.copied.set(each.path, {...each, change: 0});
      const begun = this.changes, unchanged = () => this.changes === begun;
      const piece = 4 << 20;  // so that a large file holds up nothing
      const put = async (name, bytes, still) => {
        const stream = await (await folder.getFileHandle(name, {create: true})).createWritable();
        for (let at = 0; at < bytes.length && still(); at += piece) await stream.write(bytes.slice(at, at + piece));
        await (still() ? stream.close() : stream.abort());
        return still();
      };
      const stamp = Date.now().toString(36), list = [];
      const all = this.files(), {usage, quota} = await navigator.storage.estimate();
      if (all.reduce((sum, {node, folder}) => sum + (folder ? 0 : node.usedBytes), 0) > (quota - usage) / 4) return;
      for (const {path, node, folder: isFolder} of all) {
        if (isFolder) continue;
        const before = this.copied.get(path), size = node.usedBytes, time = +node.timestamp, change = node.adretChange || 0;
        const same = before && before.size === size && (change ? before.change === change : before.time === time);
        const each = same ? before : {path, name: `${stamp}-${list.length}`, size, time, change};
        const bytes = size ? node.contents.subarray(0, size) : new Uint8Array(0);
        if (!same && !await put(each.name, bytes, unchanged)) return this.copySoon(3000);
        this.copied.set(path, each);
        list.push(each);
      }
      await put('list.json', new TextEncoder().encode(JSON.stringify(list)), () => true);
      this.copied = new Map(list.map((each) => [each.path, each]));
      const kept = new Set(['list.json', ...list.map((each) => each.name)]);
      for await (const name of folder.keys())
        if (!kept.has(name)) await folder.removeEntry(name);
    } catch (error) { /* a browser without private files, or full: the database stands alone */
    } finally {
      this.copying = false;
    }
  },

  // What the copy gives is put where it was; a file that is gone from it is left out. The nodes.
  // Throws where the copy is there and cannot be read.
  async restore() {
    const gone = (error) => {
      if (error.name !== 'NotFoundError') throw error;
      return null;
    };
    const folder = await this.copies(false).catch(() => null);  // none, or no private files here
    const nodes = [];
    for (const {path, name, size, time} of folder && await this.copyList(folder).catch(gone) || []) {
      const bytes = await this.copyOf(folder, name).catch(gone);
      if (!bytes || bytes.length !== size) continue;
      const at = this.root + path;
      FS.mkdirTree(at.slice(0, at.lastIndexOf('/')));
      FS.writeFile(at, bytes);
      const node = FS.lookupPath(at).node;
      node.timestamp = time;
      nodes.push(node);
    }
    return nodes;
  },

  // All that the database still gives, block by block, as one zip; what it does not is named in it.
  // Where the database holds nothing, what the second copy gives.
  async rescued() {
    if (!this.database && await this.open()) throw new Error(this.problem);
    const files = [], lost = [];
    const ask = (store, act) =>
      this.all(act(this.database.transaction(store, 'readonly').objectStore(store)));
    for (const id of await ask('files', (store) => store.getAllKeys())) {
      const entry = await ask('files', (store) => store.get(id)).catch(() => null);
      if (!entry) lost.push(`number ${id}`);
      if (!entry || entry.folder) continue;
      const bytes = new Uint8Array(entry.size);
      for (let b = 0; b * this.block < entry.size; ++b) {
        const part = await ask('blocks', (store) => store.get([id, b])).catch(() => null);
        if (part) bytes.set(part.subarray(0, entry.size - b * this.block), b * this.block);
        else lost.push(`${entry.path}: bytes from ${b * this.block}`);
      }
      files.push([entry.path.replace(/^\/+/, ''), bytes]);
    }
    const folder = files.length + lost.length ? null : await this.copies(false).catch(() => null);
    for (const {path, name} of folder ? await this.copyList(folder).catch(() => []) : []) {
      const bytes = await this.copyOf(folder, name).catch(() => null);
      if (bytes) files.push([path.replace(/^\/+/, ''), bytes]);
      else lost.push(path);
    }
    if (lost.length) files.push(['UNREADABLE.txt', new TextEncoder().encode(lost.join('\n') + '\n')]);
    return zipped(files);
  },
};

// Called by the page with its Module before the program is loaded.
return (module) => {
  module.adretStore = adretStore;
  adretStore.onState = (state, problem) => module.onStore && module.onStore(state, problem);
  module.preRun = [() => {
    module.addRunDependency('adret-store');
    adretStore.start(module.FS).finally(() => module.removeRunDependency('adret-store'));
  }];
};
})();
