// survey/exchange/proj_objects.h: PROJ's contexts and objects, freed when they go.
// Threads: a context and what was made with it belong to one at a time
#pragma once

#include <proj.h>

#include <memory>

namespace survey {

struct FreeProj {
  void operator()(PJ_CONTEXT* context) const { proj_context_destroy(context); }
  void operator()(PJ* object) const { proj_destroy(object); }
};
using ProjContext = std::unique_ptr<PJ_CONTEXT, FreeProj>;
using ProjObject = std::unique_ptr<PJ, FreeProj>;

inline ProjContext quiet_proj() {
  ProjContext context(proj_context_create());
  proj_log_level(context.get(), PJ_LOG_NONE);  // errors come back as values
  return context;
}

}  // namespace survey
