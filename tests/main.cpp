#define DOCTEST_CONFIG_IMPLEMENT
#include <doctest/doctest.h>

#include <filesystem>

int main(int argc, char** argv) {
  // Check data and programs are named from the binary's own folder.
  std::error_code stay;
  std::filesystem::current_path(std::filesystem::path(argv[0]).parent_path(), stay);
  return doctest::Context(argc, argv).run();
}
