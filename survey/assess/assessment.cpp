#include "survey/assess/assessment.h"

namespace survey {

horizon::Result<Assessment> assess(const FieldBook& book) {
  auto settings = site_settings(book);
  if (!settings) return tl::unexpected(settings.error());
  auto stations = station_skylines(book);
  if (!stations) return tl::unexpected(stations.error());
  return Assessment{std::move(*settings), std::move(*stations)};
}

}  // namespace survey
