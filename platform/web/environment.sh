# environment.sh: sourced before every call of Debian's Emscripten.
# EM_CONFIG: the packaged configuration, with node's command as the list that the JavaScript step
# after linking expects.
# NODE_PATH: where Debian keeps acorn, without which emcc -O2 fails.
# EMSDK_PYTHON: saves emcc a search at every call.
export EM_CONFIG="$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)/emscripten.py"
export NODE_PATH=/usr/share/nodejs
export EMSDK_PYTHON=/usr/bin/python3
