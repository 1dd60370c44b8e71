// platform/linux/gpsd.h: position from the system's GNSS daemon, over its JSON socket.
// Source: the protocol's published classes WATCH and TPV (lat, lon, altHAE, eph, epv, mode)
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "platform/position.h"

namespace platform {

// One report line; nothing where it holds no fix.
std::optional<Fix> fix_of_gpsd_line(std::string_view line, double utc_s);
// Refused connections are tried again every few seconds, without waiting.
std::unique_ptr<Position> make_gpsd_position(std::string host = "127.0.0.1", int port = 2947);

}  // namespace platform
