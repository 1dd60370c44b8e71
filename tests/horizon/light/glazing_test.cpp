#include "horizon/light/glazing.h"

#include <doctest/doctest.h>

#include <initializer_list>

#include "horizon/angle.h"
#include "tests/near.h"

using namespace horizon;

namespace {
Glazing clear(int sheets, double kl) { return {"test", sheets, 1.526, kl / 0.001, 0.001, {}}; }
}  // namespace

TEST_CASE("reflection at one surface of glass [published]") {
  // Duffie & Beckman example 5.1.1, n 1.526.
  CHECK_NEAR(surface_reflectance(1.526, 0), 0.0434, 0.0001);
  CHECK_NEAR(surface_reflectance(1.526, 60), 0.093, 0.0005);
  CHECK_NEAR(surface_reflectance(1.526, 90), 1, 1e-9);
}

TEST_CASE("two covers without absorption [published]") {
  // Duffie & Beckman example 5.1.2: 0.85 at normal incidence, 0.76 at 60 degrees.
  CHECK_NEAR(optics(clear(2, 0), 0).transmittance, 0.85, 0.005);
  CHECK_NEAR(optics(clear(2, 0), 60).transmittance, 0.76, 0.005);
}

TEST_CASE("one absorbing cover [published]") {
  // Duffie & Beckman example 5.2.1: 2.3 mm, 32 per metre, 60 degrees.
  const Optics o = optics({"test", 1, 1.526, 32, 0.0023, {}}, 60);
  CHECK_NEAR(o.transmittance, 0.768, 0.001);
  CHECK_NEAR(o.reflectance, 0.147, 0.001);
  CHECK_NEAR(o.absorptance, 0.085, 0.001);
}

TEST_CASE("one cover at four extinctions, one to three clear covers [published]") {
  // Fresnel and Bouguer, independent arithmetic; the curves of Duffie & Beckman figs 5.1.3, 5.3.1.
  const double angle[] = {0, 30, 50, 60, 70, 80};
  const double kl[] = {0, .0125, .0370, .0524};
  const double one[6][4] = {{.9169, .9054, .8835, .8699}, {.9145, .9024, .8792, .8650},
                            {.8897, .8768, .8520, .8368}, {.8421, .8290, .8041, .7888},
                            {.7236, .7113, .6879, .6737}, {.4554, .4454, .4269, .4159}};
  for (int a = 0; a < 6; ++a)
    for (int k = 0; k < 4; ++k)
      CHECK_NEAR(optics(clear(1, kl[k]), angle[a]).transmittance, one[a][k], 0.0001);
  const double angles[] = {0, 40, 60, 70, 80};
  const double covers[5][3] = {{.9169, .8465, .7862},
                               {.9080, .8372, .7803},
                               {.8421, .7588, .7070},
                               {.7236, .6052, .5326},
                               {.4554, .3096, .2361}};
  for (int a = 0; a < 5; ++a)
    for (int n = 0; n < 3; ++n)
      CHECK_NEAR(optics(clear(n + 1, 0), angles[a]).transmittance, covers[a][n], 0.0001);
}

TEST_CASE("incidence angle modifier of a 2 mm cover [published]") {
  // pvlib test fixtures of its physical model: n 1.526, 4 per metre, 2 mm, one interface to the
  // absorber, so that only the outer surface and the path count: tau relative to normal.
  const auto through = [](double angle) {
    const double inside = std::asin(std::sin(angle * kDegree) / 1.526);
    return std::exp(-4 * 0.002 / std::cos(inside)) * (1 - surface_reflectance(1.526, angle));
  };
  CHECK_NEAR(through(22.5) / through(0), .99926198, 1e-6);
  CHECK_NEAR(through(45) / through(0), .98797788, 1e-6);
  CHECK_NEAR(through(67.5) / through(0), .88939980, 1e-6);
}

TEST_CASE("effective angles of diffuse light [published]") {
  // Brandemuehl & Beckman 1980.
  const double tilt[] = {0, 30, 45, 60, 90};
  const double sky[] = {59.70, 56.88, 56.49, 56.76, 59.33};
  const double ground[] = {90, 75.06, 69.41, 64.97, 59.72};
  for (int i = 0; i < 5; ++i) {
    CHECK_NEAR(effective_sky_angle_deg(tilt[i]), sky[i], 0.006);
    CHECK_NEAR(effective_ground_angle_deg(tilt[i]), ground[i], 0.006);
  }
  // Hemispherical light passes like a beam at about 59.7 degrees, within 0.01.
  for (int n = 1; n <= 3; ++n)
    CHECK_NEAR(TransmittanceCurve(clear(n, 0.02)).of_isotropic(),
               optics(clear(n, 0.02), 59.7).transmittance, 0.012);
}

TEST_CASE("multi-wall sheets pass what their makers say [common practice]") {
  // 10 mm twin-wall clear sheet about 0.80, 16 mm triple-wall about 0.72-0.76.
  CHECK_NEAR(optics(twin_wall_polycarbonate(), 0).transmittance, 0.80, 0.02);
  CHECK_NEAR(optics(triple_wall_polycarbonate(), 0).transmittance, 0.74, 0.02);
}

TEST_CASE("nothing is lost: passed, thrown back and kept add up to one [property]") {
  for (const char* name : {"none", "single-glass", "double-glass", "twin-wall", "triple-wall"}) {
    Glazing glazing = *glazing_named(name);
    for (int entered = 0; entered < 2; ++entered) {
      if (entered) glazing.normal_transmittance = 0.7;
      double last = 1.01;
      for (double angle = 0; angle <= 90; angle += 1) {
        const Optics o = optics(glazing, angle);
        CHECK_NEAR(o.transmittance + o.reflectance + o.absorptance, 1, 1e-12);
        CHECK(o.transmittance >= 0);
        CHECK(o.absorptance >= -1e-12);
        CHECK(o.transmittance <= last + 1e-3);
        last = o.transmittance;
      }
      if (entered) CHECK_NEAR(optics(glazing, 0).transmittance, 0.7, 1e-12);
    }
  }
  CHECK(!glazing_named("crystal"));
}

TEST_CASE("the table over the cosine follows the formula [property]") {
  const TransmittanceCurve curve(twin_wall_polycarbonate());
  for (double angle = 0; angle < 90; angle += 0.37)
    CHECK_NEAR(curve(std::cos(angle * kDegree)),
               optics(twin_wall_polycarbonate(), angle).transmittance, 2e-4);
  CHECK(curve(0) == 0);
  CHECK(curve(-0.5) == 0);
}
