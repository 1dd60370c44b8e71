#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>

#include <filesystem>

namespace {

int run(int argc, char** argv) {
  // Check data and programs are named from the binary's own folder.
  std::error_code stay;
  std::filesystem::current_path(std::filesystem::path(argv[0]).parent_path(), stay);
  return doctest::Context(argc, argv).run();
}

}  // namespace

#ifdef __EMSCRIPTEN__
// The linker of Emscripten 3.1.6 looks for `main` by this very name; clang 16 gives it another.
int main_under_node(int argc, char** argv) __asm__("main");
int main_under_node(int argc, char** argv) { return run(argc, argv); }
#else
int main(int argc, char** argv) { return run(argc, argv); }
#endif
