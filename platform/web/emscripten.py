# emscripten.py: Emscripten's configuration (EM_CONFIG), read as Python by emcc.
EMSCRIPTEN_ROOT = '/usr/share/emscripten'
LLVM_ROOT = '/usr/bin'
BINARYEN_ROOT = '/usr'
NODE_JS = ['/usr/bin/node']
JAVA = 'java'
FROZEN_CACHE = True
# clang 14, which the package asks for, lacks much of C++20; 16 links with the same system libraries.
LLVM_ADD_VERSION = '16'
CLANG_ADD_VERSION = '16'
