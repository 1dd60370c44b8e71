// tests/near.h: comparison with an absolute tolerance, in the unit of the values.
#pragma once

#include <doctest/doctest.h>

#include <cmath>

#define CHECK_NEAR(actual, expected, tolerance)                      \
  do {                                                               \
    const double near_actual = (actual), near_expected = (expected); \
    INFO("is " << near_actual << ", should be " << near_expected);   \
    CHECK(std::abs(near_actual - near_expected) <= (tolerance));     \
  } while (false)
