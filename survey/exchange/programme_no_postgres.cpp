// survey/exchange/programme_no_postgres.cpp: where there is no libpq, as in the browser.
#include "survey/exchange/programme_sql.h"

namespace survey {

std::unique_ptr<ProgrammeSql> programme_server(const std::string&) {
  give_up(horizon::Code::failed, "error.programme_no_server_here", "postgresql://");
}

}  // namespace survey
