# toolchain.cmake: CMake for the browser. The libraries must have been built by libraries.sh; the
# preset `web` sets the environment that emcc needs.
include(/usr/share/emscripten/cmake/Modules/Platform/Emscripten.cmake)

if(DEFINED ENV{ADRET_WEB_CACHE})
  set(ADRET_WEB_PREFIX "$ENV{ADRET_WEB_CACHE}/prefix")
else()
  set(ADRET_WEB_PREFIX "$ENV{HOME}/.cache/adret-web/prefix")
endif()
list(APPEND CMAKE_FIND_ROOT_PATH "${ADRET_WEB_PREFIX}")
list(APPEND CMAKE_PREFIX_PATH "${ADRET_WEB_PREFIX}" "${ADRET_WEB_PREFIX}/share")
set(ENV{PKG_CONFIG_LIBDIR} "${ADRET_WEB_PREFIX}/lib/pkgconfig")
set(ENV{PKG_CONFIG_PATH} "")

# Each file by clang itself (see compile.sh), the link by em++.
set(ADRET_WEB_COMPILE "${CMAKE_CURRENT_LIST_DIR}/compile.sh")
find_program(ADRET_WEB_CCACHE ccache)
if(NOT ADRET_WEB_CCACHE)
  set(ADRET_WEB_CCACHE "")
endif()
set(CMAKE_C_COMPILE_OBJECT "${ADRET_WEB_CCACHE} ${ADRET_WEB_COMPILE} c <DEFINES> <INCLUDES> <FLAGS> -o <OBJECT> -c <SOURCE>")
set(CMAKE_CXX_COMPILE_OBJECT "${ADRET_WEB_CCACHE} ${ADRET_WEB_COMPILE} c++ <DEFINES> <INCLUDES> <FLAGS> -o <OBJECT> -c <SOURCE>")
set(ADRET_WEB_FLAGS "-fwasm-exceptions -pthread")
set(CMAKE_C_FLAGS_INIT "${ADRET_WEB_FLAGS} -isystem ${ADRET_WEB_PREFIX}/include")
set(CMAKE_CXX_FLAGS_INIT
  "${ADRET_WEB_FLAGS} -nostdinc++ -isystem ${ADRET_WEB_PREFIX}/include/c++/v1 -isystem ${ADRET_WEB_PREFIX}/include")
set(CMAKE_EXE_LINKER_FLAGS_INIT "-sSUPPORT_LONGJMP=wasm -L${ADRET_WEB_PREFIX}/lib")
set(CMAKE_CXX_STANDARD_LIBRARIES "${ADRET_WEB_PREFIX}/lib/libc++16.a")

# Tests run under node. Its own fetch would be tried, in vain, to load the program.
set(CMAKE_CROSSCOMPILING_EMULATOR "/usr/bin/node;--no-experimental-fetch;--stack-size=4000")
