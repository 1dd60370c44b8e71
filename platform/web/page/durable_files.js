// durable_files.js: the page loads it before the program. Everything below /adret survives.
//
// The files live in memory, where SQLite and the rest read and write them without waiting. Every
// write marks the blocks it touched. When the program next returns to the browser, all marked blocks
// of all files go into ONE IndexedDB transaction with durability "strict". What is stored is
// therefore always what a disk would hold had the process been killed at such a moment, and SQLite's
// own log recovers from that. `durable()` is true once nothing is marked or on its way.
//
// A file of a megabyte and more does not lie in memory whole (large_file.js): what was stored of it comes
// and goes by pieces that the database keeps as Blobs. Where a browser cannot store or read those
// (probe()), it stays in memory.
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

// A zip without compression of [name, parts: bytes or Blobs] (APPNOTE 6.3: local headers, central
// directory, end); its size must stay below 4 GB.
async function zipped(files) {
  const table = new Uint32Array(256).map((_, n) => {
    for (let k = 0; k < 8; ++k) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
    return n;
  });
  const all = [], directory = [];
  let at = 0;
  for (const [name, parts] of files) {
    let crc = 0xffffffff, length = 0;
    for (const part of parts)
      for (const byte of new Uint8Array(await new Blob([part]).arrayBuffer())) {
        crc = table[(crc ^ byte) & 255] ^ (crc >>> 8);
        ++length;
      }
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
      view.setUint32(from + 14, length, true);
      view.setUint32(from + 18, length, true);
      view.setUint16(from + 22, label.length, true);
      if (more) view.setUint32(42, at, true);
      return view.buffer;
    };
    directory.push(head(0x02014b50, true), label);
    all.push(head(0x04034b50, false), label, ...parts);
    at += 30 + label.length + length;
  }
  const size = directory.reduce((sum, part) => sum + part.byteLength, 0);
  const end = new DataView(new ArrayBuffer(22));
  end.setUint32(0, 0x06054b50, true);
  end.setUint16(8, files.length, true);
  end.setUint16(10, files.length, true);
  end.setUint32(12, size, true);
  end.setUint32(16, at, true);
  return new Blob([...all, ...directory, end.buffer], {type: 'application/zip'});
}

const keepFiles = (() => {
let FS, MEMFS;  // the program's
const STORES = ['files', 'blocks', 'pieces'];
const PASSING = '/handover';  // made anew at any time: stored so that it need not lie in memory, gone with the page

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
  letGoAt: LargeFile.most * 2,
  blobs: false,     // whether pieces of large files can be stored and read as Blobs
  copied: new Map(), // path -> what the second copy holds of it: {size, time, parts: [{name, state}]}
  copying: false,
  copyTimer: 0,
  onState: () => {},

  // "changed" before anything is stored, "stored" after, "failed" with the problem.
  durable() { return !this.problem && !this.flying && !this.treeChanged && this.dirty.size === 0; },

  // Whether much that was written waits to be stored: whoever writes on should let it pass first.
  crowded() {
    let blocks = 0;
    for (const each of this.dirty.values()) blocks += each.size;
    return !this.problem && !!this.database && blocks * this.block > LargeFile.most;
  },

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
    const before = new Map(this.stored), settling = [];
    const failed = (error) => {
      this.flying = false;
      this.stored = before;
      for (const {node, k} of settling) node.adretLoose.add(k);
      for (const [node, blocks] of dirty) {
        node.adretCut = true;  // what was to be cut off is still there
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
      transaction = this.database.transaction(STORES, 'readwrite', {durability: 'strict'});
      const [files, blocks, pieces] = STORES.map((name) => transaction.objectStore(name));
      const gone = new Set(this.stored.keys());
      for (const {path, node, folder} of this.files()) {
        if (!node.adretId) {
          node.adretId = this.nextId++;
          if (!folder && node.usedBytes > 0 && !dirty.has(node)) dirty.set(node, new Set());
          // Every block of a file that moved in from elsewhere.
          if (dirty.has(node)) for (let b = 0; b * this.block < node.usedBytes; ++b) dirty.get(node).add(b);
        }
        gone.delete(node.adretId);
        if (!folder && this.blobs && !node.large && node.usedBytes >= LargeFile.least) this.enlarge(node, path);
        const entry = {path, folder, size: folder ? 0 : node.usedBytes, time: node.timestamp};
        const text = JSON.stringify([path, folder, entry.size]);
        if (this.stored.get(node.adretId) !== text) {
          if (this.stored.has(node.adretId)) files.put(entry, node.adretId);
          else files.add(entry, node.adretId);
          this.stored.set(node.adretId, text);
        }
        const marked = folder ? null : dirty.get(node);
        if (marked) settling.push(...this.put(node, marked, blocks, pieces));
      }
      settling.push(...this.settleSome(blocks, pieces, 2));
      for (const id of gone) {
        files.delete(id);
        blocks.delete(IDBKeyRange.bound([id, 0], [id, Infinity]));
        pieces.delete(IDBKeyRange.bound([id, 0], [id, Infinity]));
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
      this.settled(settling);
      this.copySoon(3000);
    };
    transaction.onabort = () => failed(transaction.error);
  },

  // What changed of one file, into the stores. A piece of a large one that changed by half or more is
  // stored whole, as a Blob: those, with the state it was in.
  put(node, marked, blocks, pieces) {
    const id = node.adretId, large = node.large, last = Math.ceil(node.usedBytes / this.block);
    const each = LargeFile.piece / this.block, settling = [], count = new Map();
    if (large) for (const b of marked) count.set(Math.floor(b / each), (count.get(Math.floor(b / each)) || 0) + 1);
    if (large && node.adretCut) {
      pieces.delete(IDBKeyRange.bound([id, large.pieces()], [id, Infinity]));
      blocks.delete(IDBKeyRange.bound([id, last], [id, Infinity]));
      if (large.pieces()) count.set(large.pieces() - 1, each);
      node.adretCut = false;
    }
    for (const [k, changed] of count)
      if (k < large.pieces() && changed * this.block * 2 >= large.end(k)) settling.push(this.settle(node, k, blocks, pieces));
    const whole = new Set(settling.map(({k}) => k));
    for (const b of marked) {
      const k = Math.floor(b / each), from = b * this.block, to = Math.min(node.usedBytes, from + this.block);
      if (whole.has(k)) continue;
      if (b >= last) {
        blocks.delete([id, b]);
      } else if (large) {
        const bytes = new Uint8Array(to - from);
        large.read(bytes, 0, to - from, from);
        blocks.put(bytes, [id, b]);
        node.adretLoose.add(k);
      } else {
        blocks.put(node.contents.slice(from, to), [id, b]);
      }
    }
    return settling;
  },

  // A piece as a Blob, in place of what its blocks held.
  settle(node, k, blocks, pieces) {
    const id = node.adretId, each = LargeFile.piece / this.block;
    pieces.put(new Blob(node.large.parts(k)), [id, k]);
    blocks.delete(IDBKeyRange.bound([id, k * each], [id, k * each + each - 1]));
    node.adretLoose.delete(k);
    return {node, k, state: node.large.state(k)};
  },

  // Stored: the Blobs that the database gives take the place of the bytes in memory.
  async settled(list) {
    if (!list.length || !this.database) return;
    try {
      const pieces = this.database.transaction('pieces', 'readonly').objectStore('pieces');
      await Promise.all(list.map(async ({node, k, state}) => {
        const blob = await this.all(pieces.get([node.adretId, k]));
        if (blob && node.large) node.large.settled(k, blob, state);
      }));
      this.letGo();
    } catch (error) { /* they stay in memory */ }
  },

  // Where much lies in memory that no Blob holds: a few of the pieces that are stored by blocks, whole.
  // But for the newest `but` of each file, which go on being written.
  settleSome(blocks, pieces, but) {
    if (LargeFile.held <= LargeFile.most) return [];
    const some = [];
    for (const {node} of this.files())
      if (node.large && some.length < 16)
        some.push(...[...node.adretLoose].slice(0, Math.min(16, Math.max(0, node.adretLoose.size - but))).map((k) => [node, k]));
    return some.map(([node, k]) => this.settle(node, k, blocks, pieces));
  },

  // At rest, until little is left.
  settleRest() {
    const transaction = this.database.transaction(['blocks', 'pieces'], 'readwrite', {durability: 'strict'});
    const settling = this.settleSome(transaction.objectStore('blocks'), transaction.objectStore('pieces'), 0);
    transaction.oncomplete = async () => {
      await this.settled(settling);
      if (settling.length && this.database && !this.leaving && this.durable()) this.settleRest();
    };
    transaction.onabort = () => { for (const {node, k} of settling) node.adretLoose.add(k); };
  },

  enlarge(node, path) {
    node.large = LargeFile.of(node.contents.subarray(0, node.usedBytes));
    node.contents = null;
    node.adretLoose = new Set(Array(node.large.pieces()).keys());
    this.copied.delete(path);
  },

  letGo() {
    LargeFile.letGo(this.files().flatMap(({node}) => node.large || []));
    this.letGoAt = LargeFile.held + LargeFile.most;
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
    // Of a large file in place of the plain way.
    const instead = (table, name, act) => {
      const plain = table[name];
      table[name] = function (first, ...args) {
        const node = first.node || first;
        return node.large ? act(node, ...args) : plain.call(this, first, ...args);
      };
    };
    const grown = (node) => {
      node.usedBytes = node.large.size;
      node.timestamp = Date.now();
      if (LargeFile.held > this.letGoAt) this.letGo();
    };
    const tried = (act) => {
      try {
        return act();
      } catch (error) {
        console.warn(error);
        throw new FS.ErrnoError(29);  // EIO
      }
    };
    instead(file.stream, 'read', (node, buffer, offset, length, position) => {
      if (LargeFile.held > this.letGoAt) this.letGo();
      return tried(() => node.large.read(buffer, offset, length, position));
    });
    instead(file.stream, 'write', (node, buffer, offset, length, position) => {
      tried(() => node.large.write(buffer, offset, length, position));
      grown(node);
      return length;
    });
    instead(file.stream, 'allocate', (node, offset, length) => {
      node.large.resize(Math.max(node.large.size, offset + length));
      grown(node);
    });
    instead(file.stream, 'mmap', () => { throw new FS.ErrnoError(43); });  // ENODEV
    const plainly = file.node.setattr;
    file.node.setattr = function (node, {size, ...attributes}) {
      if (!node.large || size === undefined) return plainly.call(this, node, {size, ...attributes});
      plainly.call(this, node, attributes);
      if (size < node.large.size) node.adretCut = true;
      tried(() => node.large.resize(size));
      node.usedBytes = size;
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
        request = indexedDB.open('adret', 2);
      } catch (error) {
        return done(String(error));
      }
      request.onupgradeneeded = () => {
        for (const name of STORES)
          if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name);
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

  // Whether a Blob can be stored, and its bytes be had without waiting: not in WebKit's private windows.
  async probe() {
    try {
      const pieces = (mode) => this.database.transaction('pieces', mode).objectStore('pieces'), key = ['probe'];
      await this.all(pieces('readwrite').put(new Blob(['Adret']), key));
      const bytes = LargeFile.bytesOf((await this.all(pieces('readonly').get(key))).slice(1, 3));
      await this.all(pieces('readwrite').delete(key));
      return String.fromCharCode(...bytes) === 'dr';
    } catch (error) {
      return false;
    }
  },

  async read() {
    const transaction = this.database.transaction(STORES, 'readonly');
    const [files, blocks, pieces] = STORES.map((name) => transaction.objectStore(name));
    const [ids, entries] = await Promise.all([this.all(files.getAllKeys()), this.all(files.getAll())]);
    const contents = await Promise.all(ids.map((id, i) => {
      if (entries[i].folder) return null;
      const range = IDBKeyRange.bound([id, 0], [id, Infinity]);
      return Promise.all([blocks, pieces].flatMap((store) => [this.all(store.getAllKeys(range)), this.all(store.getAll(range))]));
    }));
    return [ids, entries, contents];
  },

  async load() {
    // Once more where the first reading failed: browsers short of memory refuse single requests.
    const [ids, entries, contents] = await this.read().catch(() => this.read());
    for (let i = 0; i < ids.length; ++i) {
      const entry = entries[i], path = this.root + entry.path;
      if (entry.path.startsWith(PASSING)) {  // no file any more: the next transaction takes it out
        this.treeChanged = true;
      } else if (entry.folder) {
        FS.mkdirTree(path);
      } else {
        FS.mkdirTree(path.slice(0, path.lastIndexOf('/')));
        FS.writeFile(path, new Uint8Array(0));
        const node = FS.lookupPath(path).node;
        if (contents[i][2].length) await this.loadLarge(node, entry, contents[i]);
        else this.loadPlain(node, entry, contents[i]);
        node.usedBytes = entry.size;
        node.timestamp = entry.time;
        node.adretBase = {size: entry.size, time: +entry.time};
      }
      if (!entry.path.startsWith(PASSING)) FS.lookupPath(path).node.adretId = ids[i];
      this.stored.set(ids[i], JSON.stringify([entry.path, entry.folder, entry.size]));
      this.nextId = Math.max(this.nextId, ids[i] + 1);
    }
  },

  loadPlain(node, entry, [keys, parts]) {
    const bytes = node.contents = new Uint8Array(entry.size);
    if (keys.length < Math.ceil(entry.size / this.block)) throw new Error(entry.path);
    keys.forEach(([, b], n) => {
      const at = b * this.block;
      if (at < bytes.length) bytes.set(parts[n].subarray(0, bytes.length - at), at);
    });
  },

  // Its Blobs stay where they are; what was stored by blocks since lies over them.
  async loadLarge(node, entry, [keys, parts, numbers, blobs]) {
    if (!this.blobs) throw new Error(entry.path);
    const large = node.large = new LargeFile(entry.size), each = LargeFile.piece / this.block;
    node.contents = null;
    node.adretLoose = new Set();
    numbers.forEach(([, k], n) => {
      if (k < large.pieces()) large.blobs[k] = blobs[n].slice(0, large.end(k));
    });
    const stored = new Map();  // piece -> how many blocks lie over it
    for (let n = 0; n < keys.length; ++n) {
      const at = keys[n][1] * this.block, k = Math.floor(keys[n][1] / each);
      if (at >= entry.size) continue;
      stored.set(k, (stored.get(k) || 0) + 1);
      const i = Math.floor(at / LargeFile.chunk), below = large.chunks[i] ? null : large.inBlob(i);
      if (below) large.put(i, new Uint8Array(await below.arrayBuffer()), true);
      large.write(parts[n].subarray(0, entry.size - at), 0, Math.min(parts[n].length, entry.size - at), at);
      node.adretLoose.add(k);
    }
    for (let k = 0; k < large.pieces(); ++k)
      if (!large.blobs[k] && (stored.get(k) || 0) < Math.ceil(large.end(k) / this.block)) throw new Error(entry.path);
    large.written = [];
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
      this.blobs = await this.probe() || await this.probe();
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
    if (this.treeChanged) this.soon();
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

  async copyOf(folder, name) { return (await folder.getFileHandle(name)).getFile(); },

  copySoon(in_ms) {
    clearTimeout(this.copyTimer);
    this.copyTimer = setTimeout(() => this.copy(), in_ms);
  },

  // A file's parts, each with a number that is another one whenever it was written.
  partsOf(node) {
    if (!node.large) return [{state: node.adretChange || 0, bytes: () => new Blob([node.contents ? node.contents.subarray(0, node.usedBytes) : ''])}];
    return Array.from({length: node.large.pieces()}, (_, k) => ({state: node.large.state(k), bytes: () => new Blob(node.large.parts(k))}));
  },

  // What an earlier session copied counts where the file is as it was loaded.
  async knownCopies(folder) {
    const nodes = new Map(this.files().map(({path, node}) => [path, node]));
    for (const each of await this.copyList(folder).catch(() => [])) {
      const node = nodes.get(each.path), base = node && node.adretBase;
      if (!each.parts || !base || base.size !== each.size || base.time !== each.time) continue;
      const state = node.large ? node.large.born : 0;
      this.copied.set(each.path, {...each, parts: each.parts.map(({name}) => ({name, state}))});
    }
  },

  // Begun again where anything changes meanwhile: the list stands for one moment of all files.
  async copy() {
    if (this.copying || this.leaving || !this.database || !this.durable()) return;
    this.copying = true;
    try {
      this.settleRest();
      const folder = await this.copies(true);
      if (!folder) return;
      if (!this.copied.size) await this.knownCopies(folder);
      const begun = this.changes, unchanged = () => this.changes === begun;
      const put = async (name, bytes) => {
        const stream = await (await folder.getFileHandle(name, {create: true})).createWritable();
        for (let at = 0; at < bytes.size && unchanged(); at += LargeFile.piece)  // a large one holds up nothing
          await stream.write(bytes.slice(at, at + LargeFile.piece));
        await (unchanged() ? stream.close() : stream.abort());
        return unchanged();
      };
      const stamp = Date.now().toString(36), list = [];
      const all = this.files().filter(({path}) => !path.startsWith(PASSING)), {usage, quota} = await navigator.storage.estimate();
      if (all.reduce((sum, {node, folder}) => sum + (folder ? 0 : node.usedBytes), 0) > (quota - usage) / 4) return;
      let count = 0;
      for (const {path, node, folder: isFolder} of all) {
        if (isFolder) continue;
        const before = this.copied.get(path), parts = [];
        const each = {path, size: node.usedBytes, time: +node.timestamp, parts};
        for (const [k, {state, bytes}] of this.partsOf(node).entries()) {
          const same = before && before.parts[k] && before.parts[k].state === state;
          const name = same ? before.parts[k].name : `${stamp}-${count++}`;
          if (!same && !await put(name, bytes())) return this.copySoon(3000);
          parts.push({name, state});
        }
        this.copied.set(path, each);
        list.push(each);
      }
      if (!await put('list.json', new Blob([JSON.stringify(list)]))) return this.copySoon(3000);
      this.copied = new Map(list.map((each) => [each.path, each]));
      const kept = new Set(['list.json', ...list.flatMap((each) => each.parts.map(({name}) => name))]);
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
    for (const {path, size, time, name, parts = [{name}]} of folder && await this.copyList(folder).catch(gone) || []) {
      const blobs = await Promise.all(parts.map(({name}) => this.copyOf(folder, name).catch(gone)));
      if (blobs.some((blob) => !blob) || blobs.reduce((sum, blob) => sum + blob.size, 0) !== size) continue;
      const at = this.root + path;
      FS.mkdirTree(at.slice(0, at.lastIndexOf('/')));
      const large = this.blobs && parts.length > 1;
      FS.writeFile(at, large ? '' : new Uint8Array(await new Blob(blobs).arrayBuffer()));
      const node = FS.lookupPath(at).node;
      if (large) {
        node.large = new LargeFile(size);
        node.large.blobs = blobs;
        node.contents = null;
        node.usedBytes = size;
        node.adretLoose = new Set();
      }
      node.timestamp = time;
      nodes.push(node);
    }
    return nodes;
  },

  // All that the database still gives, block by block and piece by piece, as zips of two gigabytes at
  // most; what it does not give is named in the last one. Where the database holds nothing, what the
  // second copy gives.
  async rescued() {
    if (!this.database && await this.open()) throw new Error(this.problem);
    const files = [], lost = [];
    const ask = (store, act) =>
      this.all(act(this.database.transaction(store, 'readonly').objectStore(store)));
    const bytesOf = (blob) => blob.arrayBuffer().then((bytes) => new Uint8Array(bytes), () => null);
    for (const id of await ask('files', (store) => store.getAllKeys())) {
      const entry = await ask('files', (store) => store.get(id)).catch(() => null);
      if (!entry) lost.push(`number ${id}`);
      if (!entry || entry.folder || entry.path.startsWith(PASSING)) continue;
      const parts = [];
      for (let at = 0, k = 0; at < entry.size; at += LargeFile.piece, ++k) {
        const part = new Uint8Array(Math.min(LargeFile.piece, entry.size - at));
        const blob = await ask('pieces', (store) => store.get([id, k])).catch(() => null);
        const below = blob && await bytesOf(blob.slice(0, part.length));
        if (below) part.set(below);
        for (let from = 0; from < part.length; from += this.block) {
          const b = (at + from) / this.block;
          const block = await ask('blocks', (store) => store.get([id, b])).catch(() => null);
          if (block) part.set(block.subarray(0, part.length - from), from);
          else if (!below) lost.push(`${entry.path}: bytes from ${at + from}`);
        }
        parts.push(new Blob([part]));
      }
      files.push([entry.path.replace(/^\/+/, ''), parts]);
    }
    const folder = files.length + lost.length ? null : await this.copies(false).catch(() => null);
    for (const {path, name, parts = [{name}]} of folder ? await this.copyList(folder).catch(() => []) : []) {
      const blobs = await Promise.all(parts.map(({name}) => this.copyOf(folder, name).catch(() => null)));
      if (blobs.every((blob) => blob)) files.push([path.replace(/^\/+/, ''), blobs]);
      else lost.push(path);
    }
    if (lost.length) files.push(['UNREADABLE.txt', [lost.join('\n') + '\n']]);
    const zips = [[]];
    let size = 0;
    for (const file of files) {
      const bytes = file[1].reduce((sum, part) => sum + (part.size || 0), 0);
      if (size && size + bytes > 2e9) {
        zips.push([]);
        size = 0;
      }
      zips[zips.length - 1].push(file);
      size += bytes;
    }
    return Promise.all(zips.map(zipped));
  },

  // For handing on: a file's bytes, without bringing them into memory.
  blobOf(path) {
    const {node} = FS.lookupPath(path);
    return node.large ? node.large.blob() : new Blob([FS.readFile(path)]);
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
