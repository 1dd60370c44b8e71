#!/usr/bin/env bash
# libraries.sh: the libraries as static WebAssembly archives, from Debian's own source packages.
# Each is built once into $ADRET_WEB_CACHE (default ~/.cache/adret-web); a stamp names the package
# version it came from, so a security update rebuilds that one library alone.
# Called by build.sh, which installs the tools first.
set -euo pipefail

here=$(cd "$(dirname "$0")" && pwd)
cache=${ADRET_WEB_CACHE:-$HOME/.cache/adret-web}
prefix=$cache/prefix
sources=$cache/sources
. "$here/environment.sh"
mkdir -p "$prefix/lib/pkgconfig" "$prefix/include" "$prefix/stamps" "$sources"

exec 3>&1
jobs=$(nproc)
# -pthread: the findings are worked out beside the page. A program linked without it can use the same
# archives.
export CPPFLAGS="-I$prefix/include" LDFLAGS="-L$prefix/lib"
compile_for() {  # PACKAGE: small, since a phone downloads it; quick where the time goes
  local flags="-Os -ffp-contract=off" own="-nostdinc++ -isystem $prefix/include/c++/v1"
  case $1 in zlib | erfa | pixman | freetype) flags="-O2 -ffp-contract=off" ;; esac
  cc="$here/compile.sh c $flags" cxx="$here/compile.sh c++ $own $flags"
  # The C++ library is found before Emscripten's own, by the libraries written in C++.
  export CFLAGS="$flags -pthread -fwasm-exceptions" CXXFLAGS="$flags -pthread -fwasm-exceptions $own"
}
export PKG_CONFIG_PATH= PKG_CONFIG_LIBDIR="$prefix/lib/pkgconfig"

# versions PACKAGE: of the source package, newest first.
versions() { apt-cache showsrc --only-source "$1" 2>/dev/null | sed -n 's/^Version: //p' | sort -Vru; }

# unpack PACKAGE: prints the folder with the patched source. A mirror may list a security update
# before it holds it, or miss one of the parts; then the version before is taken, and last the
# upstream source without Debian's changes.
unpack() {
  local folder=$sources/$1 candidate
  for candidate in $(versions "$1"); do
    rm -rf "$folder" && mkdir -p "$folder"
    if (cd "$folder" && apt-get source -qq "$1=$candidate" >&2); then
      find "$folder" -mindepth 1 -maxdepth 1 -type d | head -1
      return
    fi
    local upstream=("$folder"/*.orig.tar.*)
    if [ -f "${upstream[0]}" ]; then
      echo "  ($1: without Debian's changes, which the mirror does not hold)" >&3
      tar xf "${upstream[0]}" -C "$folder"
      find "$folder" -mindepth 1 -maxdepth 1 -type d | head -1
      return
    fi
  done
  return 1
}

# library PACKAGE: calls build_PACKAGE (dots and dashes as _) in its unpacked source unless this
# version is there already.
library() {
  local package=$1 wanted
  wanted=$(versions "$package" | head -1)
  [ -n "$wanted" ] || { echo "libraries.sh: no source package $package: is deb-src on?" >&2; exit 1; }
  local stamp=$prefix/stamps/$package
  [ "$(cat "$stamp" 2>/dev/null)" = "$wanted" ] && return
  echo "  $package $wanted"
  local source log=$cache/$package.log
  source=$(unpack "$package" 2>"$log") || { cat "$log" >&2; exit 1; }
  compile_for "$package"
  local failed=0
  set +e  # a subshell inside `if` would not stop at its first failure
  (set -ex; cd "$source"; "build_${package//[-.]/_}") >"$log" 2>&1 
  failed=$?
  set -e
  if [ $failed -ne 0 ]; then
    tail -30 "$log" >&2
    echo "libraries.sh: $package does not build; the whole log is $log" >&2
    exit 1
  fi
  echo "$wanted" >"$stamp"
  rm -rf "${sources:?}/$package"
}

# Emscripten 3.1.6 brings the C++ library of LLVM 13, whose C++20 is thin. The compiler here is
# clang 16 (see emscripten.py), so is the library: LLVM 16's own sources know Emscripten. Its inline
# namespace is __16: nothing can be mixed up with the one that Emscripten links last.
cxx_library() {
  local wanted stamp=$prefix/stamps/libcxx folder=$sources/libcxx log=$cache/libcxx.log
  wanted=$(versions llvm-toolchain-16 | head -1)
  [ "$(cat "$stamp" 2>/dev/null)" = "$wanted" ] && return
  echo "  libcxx $wanted"
  rm -rf "$folder" && mkdir -p "$folder/objects"
  (
    cd "$folder"
    apt-get source -qq --download-only llvm-toolchain-16
    tar xf llvm-toolchain-16_*.orig.tar.xz --strip-components=1 --wildcards \
      '*/libcxx/include' '*/libcxx/src' '*/libcxxabi/include'
    local headers=$prefix/include/c++/v1
    rm -rf "$headers" && mkdir -p "$headers"
    cp -r libcxx/include/* libcxxabi/include/*.h "$headers"
    rm -f "$headers"/module.modulemap* "$headers/CMakeLists.txt" "$headers/__config_site.in"
    cat >"$headers/__config_site" <<EOF
#pragma once
#define _LIBCPP_ABI_VERSION 1
#define _LIBCPP_ABI_NAMESPACE __16
#define _LIBCPP_HAS_MUSL_LIBC
#define _LIBCPP_HAS_THREAD_API_PTHREAD
#define _LIBCPP_DISABLE_VISIBILITY_ANNOTATIONS
#define _LIBCPP_HAS_NO_VENDOR_AVAILABILITY_ANNOTATIONS
#define _LIBCPP_ENABLE_ASSERTIONS_DEFAULT 0
EOF
    cd libcxx
    find src -maxdepth 2 -name '*.cpp' -not -path 'src/support/*' | xargs -P "$jobs" -I{} sh -c \
      '"$3" c++ -std=c++20 -Oz -nostdinc++ -w -isystem "$1" \
        -Isrc -DLIBCXX_BUILDING_LIBCXXABI=1 -D_LIBCPP_BUILDING_LIBRARY -c "$2" \
        -o "../objects/$(echo "$2" | tr / _).o"' sh "$headers" {} "$here/compile.sh"
    archive libc++16.a ../objects/*.o
  ) >"$log" 2>&1
  echo "$wanted" >"$stamp"
  rm -rf "${folder:?}"
}

write_pc() {  # write_pc NAME VERSION LIBS
  cat >"$prefix/lib/pkgconfig/$1.pc" <<EOF
prefix=$prefix
Name: $1
Description: $1 for WebAssembly
Version: $2
Libs: -L\${prefix}/lib $3
Cflags: -I\${prefix}/include
EOF
}

archive() {  # archive NAME OBJECT...
  rm -f "$prefix/lib/$1"
  emar rcs "$prefix/lib/$1" "${@:2}"
}

cmake_library() {  # cmake_library FOLDER OPTION...
  emcmake cmake -S "$1" -B wasm -G Ninja -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_FLAGS_RELEASE= \
    -DCMAKE_CXX_FLAGS_RELEASE= -DCMAKE_INSTALL_PREFIX="$prefix" -DCMAKE_INSTALL_LIBDIR=lib \
    -DCMAKE_C_COMPILE_OBJECT="$here/compile.sh c <DEFINES> <INCLUDES> <FLAGS> -o <OBJECT> -c <SOURCE>" \
    -DCMAKE_CXX_COMPILE_OBJECT="$here/compile.sh c++ <DEFINES> <INCLUDES> <FLAGS> -o <OBJECT> -c <SOURCE>" \
    -DCMAKE_FIND_ROOT_PATH="$prefix" -DCMAKE_PREFIX_PATH="$prefix" -DBUILD_SHARED_LIBS=OFF "${@:2}"
  cmake --build wasm -j "$jobs"
  cmake --install wasm
}

# host_config FOLDER OPTION...: only asks CMake's questions, of this machine's compiler, into ./host.
host_config() {
  env -u CFLAGS -u CXXFLAGS -u CPPFLAGS -u LDFLAGS cmake -S "$1" -B host -DCMAKE_BUILD_TYPE=Release \
    -DBUILD_SHARED_LIBS=OFF -DZLIB_INCLUDE_DIR="$prefix/include" -DZLIB_LIBRARY="$prefix/lib/libz.a" "${@:2}"
}

build_zlib() {
  for file in *.c; do
    $cc -D_LARGEFILE64_SOURCE=1 -DHAVE_UNISTD_H -c "$file" -o "${file%.c}.o"
  done
  archive libz.a ./*.o
  cp zlib.h zconf.h "$prefix/include"
  write_pc zlib 1.2.13 -lz
}

build_libpng1_6() {
  cp scripts/pnglibconf.h.prebuilt pnglibconf.h
  for file in png.c pngerror.c pngget.c pngmem.c pngpread.c pngread.c pngrio.c pngrtran.c pngrutil.c \
    pngset.c pngtrans.c pngwio.c pngwrite.c pngwtran.c pngwutil.c; do
    $cc -I"$prefix/include" -c "$file" -o "${file%.c}.o"
  done
  archive libpng16.a ./*.o
  cp "$prefix/lib/libpng16.a" "$prefix/lib/libpng.a"
  cp png.h pngconf.h pnglibconf.h "$prefix/include"
  write_pc libpng 1.6.39 "-lpng16 -lz"
  cp "$prefix/lib/pkgconfig/libpng.pc" "$prefix/lib/pkgconfig/libpng16.pc"
}

# Without HarfBuzz: it would need FreeType first, and only the auto-hinter would gain.
build_freetype() {
  cmake_library . -DFT_DISABLE_HARFBUZZ=ON -DFT_DISABLE_BROTLI=ON -DFT_DISABLE_BZIP2=ON \
    -DFT_DISABLE_PNG=ON -DFT_REQUIRE_ZLIB=ON \
    -DZLIB_INCLUDE_DIR="$prefix/include" -DZLIB_LIBRARY="$prefix/lib/libz.a"
  # Its own .pc names the libtool number; cairo asks for that.
}

build_harfbuzz() {
  local f="-std=c++11 -DHAVE_FREETYPE=1 -fno-rtti"
  $cxx $f -I"$prefix/include" -I"$prefix/include/freetype2" -Isrc \
    -c src/harfbuzz.cc -o harfbuzz.o
  archive libharfbuzz.a harfbuzz.o
  mkdir -p "$prefix/include/harfbuzz"
  cp src/hb*.h "$prefix/include/harfbuzz"
  rm -f "$prefix"/include/harfbuzz/hb-{glib,gobject,icu,graphite2,uniscribe,directwrite,gdi,coretext}*.h
  write_pc harfbuzz 6.0.0 -lharfbuzz
  sed -i 's|^Cflags:.*|Cflags: -I${prefix}/include/harfbuzz -I${prefix}/include/freetype2|' \
    "$prefix/lib/pkgconfig/harfbuzz.pc"
}

# Its tables are made by programs that must run here, not in the browser.
build_fribidi() {
  [ -x configure ] || autoreconf -fi
  env -u CFLAGS -u CXXFLAGS -u CPPFLAGS -u LDFLAGS ./configure --disable-shared --disable-docs
  env -u CFLAGS -u CPPFLAGS -u LDFLAGS make -C gen.tab
  env -u CFLAGS -u CPPFLAGS -u LDFLAGS make -C lib fribidi-unicode-version.h fribidi-config.h || true
  cd lib
  for file in fribidi*.c; do
    $cc -DHAVE_CONFIG_H -DFRIBIDI_LIB_STATIC -I. -I.. -I../gen.tab -c "$file" -o "${file%.c}.o"
  done
  archive libfribidi.a fribidi*.o
  mkdir -p "$prefix/include/fribidi"
  cp fribidi*.h ../gen.tab/fribidi-unicode-version.h "$prefix/include/fribidi" 2>/dev/null || cp fribidi*.h "$prefix/include/fribidi"
  write_pc fribidi 1.0.8 -lfribidi
  sed -i 's|^Cflags:.*|Cflags: -I${prefix}/include/fribidi -DFRIBIDI_LIB_STATIC|' \
    "$prefix/lib/pkgconfig/fribidi.pc"
}

build_pixman() {
  [ -x configure ] || autoreconf -fi
  emconfigure ./configure --host=wasm32-unknown-linux --prefix="$prefix" --enable-static \
    --disable-shared --disable-mmx --disable-sse2 --disable-ssse3 --disable-openmp --disable-gtk \
    --disable-libpng --disable-timers ac_cv_c_bigendian=no
  emmake make -C pixman -j "$jobs" CC="$here/compile.sh c"
  emmake make -C pixman install
  cp pixman-1.pc "$prefix/lib/pkgconfig/"
}

# Without its configure script, whose two hundred questions to emcc take longer than the sources.
build_cairo() {
  cd src
  cat >config.h <<'EOF'
#define HAVE_STDINT_H 1
#define HAVE_INTTYPES_H 1
#define HAVE_UINT64_T 1
#define HAVE_UNISTD_H 1
#define HAVE_SYS_STAT_H 1
#define HAVE_FCNTL_H 1
#define HAVE_LIBGEN_H 1
#define HAVE_SETJMP_H 1
#define HAVE_SIGNAL_H 1
#define HAVE_TIME_H 1
#define HAVE_STRNDUP 1
#define HAVE_CTIME_R 1
#define HAVE_LOCALTIME_R 1
#define HAVE_GMTIME_R 1
#define HAVE_MKDIR 1
#define HAVE_ZLIB 1
#define HAVE_FT_LOAD_SFNT_TABLE 1
#define HAVE_FT_GLYPHSLOT_EMBOLDEN 1
#define HAVE_FT_GLYPHSLOT_OBLIQUE 1
#define HAVE_FT_LIBRARY_SETLCDFILTER 1
#define HAVE_FT_GET_X11_FONT_FORMAT 1
#define HAVE_FT_GET_VAR_DESIGN_COORDINATES 1
#define HAVE_FT_DONE_MM_VAR 1
#define HAVE_CXX11_ATOMIC_PRIMITIVES 1
#define SIZEOF_VOID_P 4
#define SIZEOF_INT 4
#define SIZEOF_LONG 4
#define SIZEOF_LONG_LONG 8
#define SIZEOF_SIZE_T 4
#define CAIRO_HAS_PTHREAD 1
#define CAIRO_HAS_REAL_PTHREAD 1
#define PACKAGE_NAME "cairo"
EOF
  local outlet
  echo '#define CAIRO_FEATURES_H' >cairo-features.h
  for outlet in IMAGE RECORDING OBSERVER MIME PDF SVG; do
    echo "#define CAIRO_HAS_${outlet}_SURFACE 1"
  done >>cairo-features.h
  printf '#define CAIRO_HAS_%s 1\n' FT_FONT USER_FONT PNG_FUNCTIONS >>cairo-features.h
  local lists files
  lists='$(cairo_sources) $(cairo_png_sources) $(cairo_pdf_sources) $(cairo_svg_sources) $(cairo_ft_sources)'
  files=$(printf 'include Makefile.sources\nall:\n\t@echo %s\n' "$lists" | make -s -f - all)
  printf '%s\n' $files | sort -u | xargs -P "$jobs" -I{} $cc -w -DHAVE_CONFIG_H -DCAIRO_COMPILATION -I. \
    -I"$prefix/include" -I"$prefix/include/pixman-1" -I"$prefix/include/freetype2" -c {} -o {}.o
  archive libcairo.a ./*.o
  mkdir -p "$prefix/include/cairo"
  cp cairo.h cairo-deprecated.h cairo-features.h cairo-pdf.h cairo-svg.h cairo-ft.h ../cairo-version.h \
    "$prefix/include/cairo"
  write_pc cairo 1.16.0 "-lcairo -lpixman-1 -lfreetype -lpng16 -lz"
  sed -i 's|^Cflags:.*|Cflags: -I${prefix}/include/cairo -I${prefix}/include/freetype2|' \
    "$prefix/lib/pkgconfig/cairo.pc"
  for outlet in pdf svg png ft; do
    sed "s/^Name:.*/Name: cairo-$outlet/" "$prefix/lib/pkgconfig/cairo.pc" \
      >"$prefix/lib/pkgconfig/cairo-$outlet.pc"
  done
}

build_sqlite3() {
  env -u CFLAGS -u CXXFLAGS -u CPPFLAGS -u LDFLAGS ./configure --disable-tcl
  env -u CFLAGS -u CPPFLAGS -u LDFLAGS make sqlite3.c
  $cc -DSQLITE_THREADSAFE=1 -DSQLITE_DEFAULT_LOCKING_MODE=1 -DSQLITE_OMIT_LOAD_EXTENSION -DSQLITE_ENABLE_RTREE \
    -DSQLITE_ENABLE_COLUMN_METADATA -c sqlite3.c -o sqlite3.o
  archive libsqlite3.a sqlite3.o
  cp sqlite3.h "$prefix/include"
  [ -f src/sqlite3ext.h ] && cp src/sqlite3ext.h "$prefix/include"
  write_pc sqlite3 3.40.1 -lsqlite3
}

build_erfa() {
  cd src
  local sources_=() file
  for file in *.c; do
    case $file in t_erfa*) ;; *) sources_+=("$file") ;; esac
  done
  printf '#define PACKAGE_VERSION "2.0.0"\n#define PACKAGE_VERSION_MAJOR 2\n#define PACKAGE_VERSION_MINOR 0\n#define PACKAGE_VERSION_MICRO 0\n#define SOFA_VERSION "20210512"\n' >config.h
  printf '%s\n' "${sources_[@]}" | xargs -P "$jobs" -I{} $cc -DHAVE_CONFIG_H -I. -c {} -o {}.o
  archive liberfa.a ./*.o
  cp erfa.h erfam.h erfaextra.h erfadatextra.h "$prefix/include"
  write_pc erfa 2.0.0 -lerfa
}

build_libexif() {
  printf '#define GETTEXT_PACKAGE "libexif-12"\n#define PACKAGE_VERSION "0.6.24"\n' >config.h
  echo '#include <stdint.h>' >libexif/_stdint.h
  find libexif -name '*.c' | xargs -P "$jobs" -I{} $cc -w -DHAVE_CONFIG_H -I. -I./libexif -c {} -o {}.o
  archive libexif.a $(find libexif -name '*.c.o')
  mkdir -p "$prefix/include/libexif"
  cp libexif/*.h "$prefix/include/libexif"
  write_pc libexif 0.6.24 -lexif
}

build_pugixml() {
  cmake_library .
  write_pc pugixml 1.13 -lpugixml
}

build_libmd() {
  cd src
  printf '#define _GNU_SOURCE 1\n#define HAVE_UNISTD_H 1\n' >config.h
  local name
  for name in sha2 sha256hl; do $cc -w -include config.h -I. -I../include -c $name.c -o $name.o; done
  archive libmd.a ./*.o
  cp ../include/*.h "$prefix/include"
  write_pc libmd 1.0.4 -lmd
}

# Configured for this machine, whose answers hold for the browser too but for the size of a pointer:
# CMake's questions to emcc would take minutes and get wrong answers.
build_libzip() {
  host_config . -DENABLE_COMMONCRYPTO=OFF -DENABLE_GNUTLS=OFF -DENABLE_MBEDTLS=OFF -DENABLE_OPENSSL=OFF \
    -DENABLE_BZIP2=OFF -DENABLE_LZMA=OFF -DENABLE_ZSTD=OFF -DBUILD_TOOLS=OFF -DBUILD_REGRESS=OFF \
    -DBUILD_EXAMPLES=OFF -DBUILD_DOC=OFF
  sed -i -e 's/SIZEOF_SIZE_T 8/SIZEOF_SIZE_T 4/' -e '/HAVE_FICLONERANGE/d' -e '/HAVE_ARC4RANDOM/d' host/config.h
  find lib host -name 'zip_*.c' ! -name '*win32*' ! -name '*uwp*' ! -name '*crypto_*' ! -name '*winzip*' \
    ! -name '*bzip2*' ! -name '*xz*' ! -path '*/CMakeFiles/*' |
    xargs -P "$jobs" -I{} $cc -w -DHAVE_CONFIG_H -Ihost -Ilib -I"$prefix/include" -c {} -o {}.o
  archive libzip.a lib/*.o host/*.o
  cp lib/zip.h host/zipconf.h "$prefix/include"
  write_pc libzip 1.7.3 "-lzip -lz"
}

# Without libtiff and curl: grids of datum shifts are not shipped. proj.db is cut down by build.sh.
build_proj() {
  cmake_library . -DENABLE_TIFF=OFF -DENABLE_CURL=OFF -DBUILD_APPS=OFF -DBUILD_TESTING=OFF \
    -DNLOHMANN_JSON_ORIGIN=internal -DEXE_SQLITE3="$(command -v sqlite3)" \
    -DSQLITE3_INCLUDE_DIR="$prefix/include" -DSQLITE3_LIBRARY="$prefix/lib/libsqlite3.a"
  write_pc proj 9.1.1 "-lproj -lsqlite3"
}

build_tiff() {
  host_config . -Dzlib=ON -Djpeg=OFF -Dold-jpeg=OFF -Djbig=OFF -Dlzma=OFF -Dzstd=OFF -Dwebp=OFF -Dlerc=OFF \
    -Dlibdeflate=OFF -Dcxx=OFF -Dtiff-tools=OFF -Dtiff-tests=OFF -Dtiff-contrib=OFF -Dtiff-docs=OFF
  sed -i 's/SIZEOF_SIZE_T 8/SIZEOF_SIZE_T 4/' host/libtiff/tif_config.h
  find libtiff -name 'tif_*.c' ! -name tif_win32.c |
    xargs -P "$jobs" -I{} $cc -w -Ihost/libtiff -Ilibtiff -I"$prefix/include" -c {} -o {}.o
  archive libtiff.a libtiff/*.o
  cp libtiff/tiff.h libtiff/tiffio.h libtiff/tiffvers.h host/libtiff/tiffconf.h "$prefix/include"
  [ ! -f host/libtiff/tiffvers.h ] || cp host/libtiff/tiffvers.h "$prefix/include"
  write_pc libtiff-4 4.5.0 "-ltiff -lz"
}

# Headers alone: from the installed development packages, copied so that no other header of the
# host is seen by the WebAssembly compiler.
headers() {
  cp -rL /usr/include/nlohmann /usr/include/CLI /usr/include/stb /usr/include/tl /usr/include/doctest /usr/include/utf8 /usr/include/utf8.h \
    "$prefix/include/"
  mkdir -p "$prefix/include/eigen3"
  cp -rL /usr/include/eigen3/Eigen /usr/include/eigen3/unsupported "$prefix/include/eigen3/"
  mkdir -p "$prefix/share/cmake" "$prefix/lib/cmake" "$prefix/share/eigen3"
  cp -r /usr/share/cmake/CLI11 /usr/share/cmake/nlohmann_json /usr/share/cmake/tl-expected "$prefix/share/cmake/"
  cp -r /usr/share/eigen3/cmake "$prefix/share/eigen3/"
  cp -r /usr/lib/cmake/doctest "$prefix/lib/cmake/"
  sed -i "s|set(_IMPORT_PREFIX \"/usr\")|set(_IMPORT_PREFIX \"$prefix\")|" "$prefix/lib/cmake/doctest/doctestTargets.cmake"
}

all=(zlib libpng1.6 freetype harfbuzz fribidi pixman cairo sqlite3 erfa libexif pugixml
  libmd libzip tiff proj)
headers
cxx_library
for package in "${@:-${all[@]}}"; do library "$package"; done
