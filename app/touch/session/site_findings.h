// app/touch/session/site_findings.h: the main findings of sites that are not open, for comparison.
// Threads: the frame's; each site is opened and worked out by the worker, once for each state of
//          its file
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>

#include "horizon/house/house_findings.h"
#include "horizon/light/findings.h"
#include "platform/worker.h"

namespace app {

class SiteFindings {
 public:
  struct Site {
    bool working = true;
    std::optional<horizon::StationFindings> main;  // nothing: no skyline or no position yet
    std::optional<horizon::HouseFindings> house;   // of its few first winters
    std::string no_house;                          // why not
    std::string problem;
  };
  const Site& of(platform::Worker& worker, const std::string& path);

 private:
  std::map<std::string, std::shared_ptr<Site>> known_;
};

}  // namespace app
