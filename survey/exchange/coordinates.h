// survey/exchange/coordinates.h: a position as people write it.
// Units:  degrees north and east positive on WGS 84; metres
// Reads   46.6213, 10.3478      46,6213; 10,3478      N 46.6213 E 10.3478     10.3478E 46.6213N
//         46°37.278'N 10°20.868'E      46 37 16.7 N, 10 20 52.1 E      -41:07:48 -71:18:36
//         lat 46.6213 lon 10.3478      geo:46.6213,10.3478,1482        +46.6213+010.3478+1482/
//         32N 597000 5163000      32T 597000mE 5163000mN      32T PS 03200 63400
//         EPSG:2056 2600000 1200000
//         Without letters the latitude comes first. A number after both is a height in metres.
// Errors: what can be read two ways is refused with the cure: "O" is east in one language and west
//         in another; S behind a zone is south, or the band S of the north
// Source: ISO 6709:2008 annexes D and H; RFC 5870 (geo URI); NGA.STND.0037 (UTM, MGRS)
#pragma once

#include <string>
#include <string_view>

#include "horizon/place.h"
#include "horizon/result.h"

namespace survey {

struct ReadPosition {
  horizon::Place place;  // longitude in [-180, 180)
  bool has_height = false;
  std::string system;  // how it was read: "degrees", "UTM 32N", "MGRS", "EPSG:2056"
};
// An MGRS reference names a square; its middle is returned.
horizon::Result<ReadPosition> position_of(std::string_view text);

enum class AngleStyle { decimal, minutes, seconds };
// "46.62130° N, 10.34780° E", "46°37.278' N, 10°20.868' E", "46°37'16.7\" N, 10°20'52.1\" E"
std::string format_position(const horizon::Place& place, AngleStyle style);

}  // namespace survey
