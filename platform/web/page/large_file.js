// large_file.js: a file of many megabytes of which only what is in use lies in memory.
//
// It is a row of pieces. A piece that was stored is a Blob, which the browser keeps on the device; of
// it only the chunks that are read come into memory, and go again when they were not used for long.
// What was written since stays in memory until it is part of a Blob (settled()). SQLite and the rest
// read without waiting, so the part of a Blob is asked for by a request that holds the page up until
// it is there: some milliseconds (docs/web.md).
'use strict';

class LargeFile {
  static least = 1 << 20;    // bytes from which on a file is one
  static piece = 1 << 20;
  static chunk = 1 << 17;    // a whole number of them in a piece
  static most = 32 << 20;    // bytes of chunks that may stay although a Blob holds them
  static held = 0;           // bytes of chunks in memory, of all files; counted anew by letGo()
  static clock = 0;

  constructor(size) {
    this.size = size;
    this.chunks = [];        // number -> {bytes, used, fresh: no Blob holds it}
    this.blobs = [];         // piece -> Blob; may be shorter than the piece: zeros behind it
    this.written = [];       // piece -> when by the clock
    this.born = ++LargeFile.clock;
    this.fetched = -1;       // the chunk behind those that were read last
  }

  static of(bytes) {
    const file = new LargeFile(0);
    file.write(bytes, 0, bytes.length, 0);
    return file;
  }

  pieces() { return Math.ceil(this.size / LargeFile.piece); }
  // Another number for every state of a piece, of all files.
  state(k) { return this.written[k] || this.born; }
  end(k) { return Math.min(LargeFile.piece, this.size - k * LargeFile.piece); }

  // The bytes of a part of a Blob, now. Throws where the browser cannot read it.
  static bytesOf(blob) {
    const address = URL.createObjectURL(blob), request = new XMLHttpRequest();
    try {
      request.open('GET', address, false);
      request.overrideMimeType('text/plain; charset=x-user-defined');  // a byte a letter
      request.send();
    } finally {
      URL.revokeObjectURL(address);
    }
    const text = request.responseText, bytes = new Uint8Array(text.length);
    for (let i = 0; i < text.length; ++i) bytes[i] = text.charCodeAt(i);
    if (bytes.length !== blob.size) throw new Error('a stored piece cannot be read');
    return bytes;
  }

  inBlob(i) {
    const at = i * LargeFile.chunk, from = at % LargeFile.piece;
    const blob = this.blobs[Math.floor(at / LargeFile.piece)];
    return blob && blob.size > from ? blob.slice(from, from + LargeFile.chunk) : null;
  }

  put(i, bytes, fresh) {
    const whole = bytes.length === LargeFile.chunk ? bytes : new Uint8Array(LargeFile.chunk);
    if (whole !== bytes) whole.set(bytes);
    LargeFile.held += LargeFile.chunk;
    return this.chunks[i] = {bytes: whole, used: 0, fresh};
  }

  at(i) {
    if (!this.chunks[i]) this.fetch(i);
    this.chunks[i].used = ++LargeFile.clock;
    return this.chunks[i];
  }

  // A request costs as much as the bytes of a whole piece: whoever reads on gets the rest of it.
  fetch(i) {
    const each = LargeFile.piece / LargeFile.chunk, onward = this.fetched === i;
    let to = i + 1;
    while (onward && to % each && !this.chunks[to]) ++to;
    const parts = Array.from({length: to - i}, (_, n) => this.inBlob(i + n)), stored = parts.filter((part) => part);
    const bytes = stored.length ? LargeFile.bytesOf(stored.length > 1 ? new Blob(stored) : stored[0]) : null;
    let at = 0;
    parts.forEach((part, n) => {
      if (n && !part) return;
      this.put(i + n, part ? bytes.slice(at, at += part.size) : new Uint8Array(LargeFile.chunk), !part);
    });
    this.fetched = to;
  }

  // Of [position, position + length): act(number of the chunk, from, to, how far into the whole).
  each(position, length, act) {
    for (let done = 0; done < length;) {
      const i = Math.floor((position + done) / LargeFile.chunk), from = (position + done) % LargeFile.chunk;
      const count = Math.min(LargeFile.chunk - from, length - done);
      act(i, from, from + count, done);
      done += count;
    }
  }

  read(into, offset, length, position) {
    const count = Math.max(0, Math.min(length, this.size - position));
    this.each(position, count, (i, from, to, done) => into.set(this.at(i).bytes.subarray(from, to), offset + done));
    return count;
  }

  write(bytes, offset, length, position) {
    this.each(position, length, (i, from, to, done) => {
      const whole = from === 0 && to === LargeFile.chunk && !this.chunks[i];
      const chunk = whole ? this.put(i, new Uint8Array(LargeFile.chunk), true) : this.at(i);
      chunk.bytes.set(bytes.subarray(offset + done, offset + done + to - from), from);
      chunk.fresh = true;
      chunk.used = ++LargeFile.clock;
      this.written[Math.floor(i * LargeFile.chunk / LargeFile.piece)] = LargeFile.clock;
    });
    this.size = Math.max(this.size, position + length);
    return length;
  }

  // What lies behind the new end is gone for good: zeros, should the file grow again.
  resize(size) {
    if (size < this.size) {
      const last = Math.floor(size / LargeFile.chunk), within = size % LargeFile.chunk;
      if (within) {
        const chunk = this.at(last);
        chunk.bytes.fill(0, within);
        chunk.fresh = true;
      }
      this.chunks.length = Math.min(this.chunks.length, last + (within ? 1 : 0));
      const k = Math.floor(size / LargeFile.piece), end = size % LargeFile.piece;
      this.blobs.length = Math.min(this.blobs.length, k + (end ? 1 : 0));
      if (this.blobs[k]) this.blobs[k] = this.blobs[k].slice(0, end);
      this.written[k] = ++LargeFile.clock;
    }
    this.size = size;
  }

  // What makes up a piece, without reading what lies in its Blob.
  parts(k) {
    const parts = [], end = this.end(k), from = k * LargeFile.piece / LargeFile.chunk;
    for (let at = 0; at < end; at += LargeFile.chunk) {
      const i = from + at / LargeFile.chunk, chunk = this.chunks[i], count = Math.min(LargeFile.chunk, end - at);
      const stored = chunk && chunk.fresh ? null : this.inBlob(i);
      if (chunk) parts.push(chunk.bytes.slice(0, count));
      else if (stored) parts.push(stored.slice(0, count), new Uint8Array(count - Math.min(count, stored.size)));
      else parts.push(new Uint8Array(count));
    }
    return parts;
  }
  blob() {
    const parts = [];
    for (let k = 0; k < this.pieces(); ++k) parts.push(...this.parts(k));
    return new Blob(parts);
  }

  // The Blob holds the piece as it was in that state.
  settled(k, blob, state) {
    if (this.state(k) !== state || k >= this.pieces()) return;
    this.blobs[k] = blob;
    const from = k * LargeFile.piece / LargeFile.chunk;
    for (let i = from; i < from + LargeFile.piece / LargeFile.chunk; ++i)
      if (this.chunks[i]) this.chunks[i].fresh = false;
  }

  // Of all files together: what was not used for longest leaves memory, where a Blob holds it.
  static letGo(files) {
    const spare = [];
    LargeFile.held = 0;
    for (const file of files)
      file.chunks.forEach((chunk, i) => {
        if (chunk) LargeFile.held += LargeFile.chunk;
        if (chunk && !chunk.fresh) spare.push([chunk.used, file, i]);
      });
    if (spare.length * LargeFile.chunk <= LargeFile.most) return;
    spare.sort((a, b) => a[0] - b[0]);
    for (const [, file, i] of spare.slice(0, spare.length - LargeFile.most / LargeFile.chunk / 2)) {
      delete file.chunks[i];
      LargeFile.held -= LargeFile.chunk;
    }
  }
}
