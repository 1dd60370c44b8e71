#include <cstdio>
#include <exception>

#include "app/cli/cli.h"
#include "app/words/sentence.h"

#ifdef __GLIBC__
#include <malloc.h>
#endif

int main(int argc, char** argv) {
#ifdef __GLIBC__
  // A run is short: memory given back is asked for again at once, each page anew.
  mallopt(M_MMAP_THRESHOLD, 32 << 20);  // the most it takes
  mallopt(M_TRIM_THRESHOLD, 1 << 30);
#endif
  CLI::App cli{"Adret: sun, ground and access of a building plot in a mountain valley."};
  cli.name("adret-cli");
  cli.require_subcommand(1);
  app::add_compare(cli);
  app::add_contacts(cli);
  app::add_declination(cli);
  app::add_gather(cli);
  app::add_ground(cli);
  app::add_light(cli);
  app::add_moon(cli);
  app::add_site_verbs(cli);
  app::add_handover(cli);
  app::add_photo(cli);
  app::add_sun(cli);
  app::add_terrain(cli);
  app::add_valley(cli);
  app::refuse_empty_values(cli);
  try {
    cli.parse(argc, argv);
    return 0;
  } catch (const CLI::ParseError& error) {
    const bool asked_for_help = error.get_exit_code() == 0;
    cli.exit(error);
    return asked_for_help ? 0 : 2;
  } catch (const app::Stop& stop) {
    if (!stop.message.empty()) std::fprintf(stderr, "adret-cli: %s\n", stop.message.c_str());
    return stop.exit_code;
  } catch (const std::exception& error) {
    std::fprintf(stderr, "adret-cli: %s\n", app::words_of(survey::error_of(error)).c_str());
    return 1;
  }
}
