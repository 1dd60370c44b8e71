#!/bin/sh
# compile.sh c|c++ ARGUMENT...: compiles one file as emcc and em++ would, without their start of half
# a second a file, and so that ccache knows the compiler. Linking stays with em++.
kind=$1
shift
exec /usr/bin/clang-16 --driver-mode="$([ "$kind" = c++ ] && echo g++ || echo gcc)" \
  -target wasm32-unknown-emscripten -DEMSCRIPTEN -D__EMSCRIPTEN_major__=3 -D__EMSCRIPTEN_minor__=1 \
  -D__EMSCRIPTEN_tiny__=6 -D_LIBCPP_ABI_VERSION=1 -Dunix -D__unix -D__unix__ -fvisibility=default \
  -mllvm -combiner-global-alias-analysis=false -mllvm -wasm-enable-sjlj -mllvm -disable-lsr \
  -Werror=implicit-function-declaration --sysroot=/usr/share/emscripten/cache/sysroot \
  -Xclang -iwithsysroot/include/compat -pthread -fwasm-exceptions "$@"
