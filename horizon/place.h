// horizon/place.h: a point on the Earth.
// Units: degrees (WGS 84, north and east positive), metres above the WGS 84 ellipsoid.
//        A height above sea level may stand in: the geoid's 100 m move no sun and no declination
//        by more than 0.0001 degree.
// Valid: latitude -90 to 90; longitude any, -180 to 180 preferred.
#pragma once

namespace horizon {

struct Place {
  double latitude_deg = 0;
  double longitude_deg = 0;
  double height_m = 0;
};

}  // namespace horizon
