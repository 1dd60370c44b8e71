// app/touch/session/programme_keeper.h: the sites to put side by side: this device's own, or those of a programme that
// was brought in.
// Threads: the frame's; files are read and figures worked out by the worker
// Own:     each site once for each state of its file, with fewer draws than a hand-over
// Cost:    reading 10,000 sites of a programme under 0.2 s, beside the frame
#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "app/words/quantity.h"
#include "platform/worker.h"
#include "survey/exchange/programme.h"

namespace app {

class ProgrammeKeeper {
 public:
  struct Sites {
    std::vector<survey::ProgrammeState> list;
    std::vector<std::string> problems;  // of sites that could not be read
    int working = 0;                    // sites still to be worked out
    std::uint64_t change = 0;           // grows whenever the list differs
  };
  // Files as the list of sites has them. Asked every frame: costs a look at each file's time.
  const Sites& own(platform::Worker& worker, const std::vector<std::string>& paths,
                   const std::string& language, Units units);
  const Sites& of_file(platform::Worker& worker, const std::string& path);
  // With all that belongs to it; null while it is being read.
  const survey::ProgrammeState* details(platform::Worker& worker, const std::string& path,
                                        const survey::Id& site_id);

 private:
  struct Own {
    bool working = true;
    std::string problem;
    survey::ProgrammeState state;
  };
  struct File {
    bool asked = false;
    Sites sites;
    std::map<survey::Id, std::shared_ptr<survey::ProgrammeState>> details;  // null: asked for
  };
  std::map<std::string, std::shared_ptr<Own>> known_;
  std::map<std::string, std::shared_ptr<File>> files_;
  Sites own_;
  std::string own_for_;  // what the list was put together from
};

}  // namespace app
