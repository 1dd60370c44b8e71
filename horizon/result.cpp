#include "horizon/result.h"

#include <cstdio>

namespace horizon {

Arg Arg::figure(double value, int decimals) {
  char digits[400];
  std::snprintf(digits, sizeof digits, "%.*f", decimals, value);
  return figure(std::string(digits));
}

}  // namespace horizon
