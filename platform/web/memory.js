// memory.js: linked into the program (--pre-js). The views of its memory, which is another one after
// it grew; only code that went through Emscripten's tools sees the current one.
Module['memory'] = function() { return {bytes: HEAPU8, words: HEAP32, floats: HEAPF32}; };
