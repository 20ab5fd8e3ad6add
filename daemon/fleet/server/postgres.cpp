#include "daemon/fleet/server/postgres.h"

#include <fmt/format.h>
#include <libpq-fe.h>

#include <cstdlib>
#include <limits>

#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

// A server that hangs is noticed: statements by the server's own limit, the line by TCP's.
constexpr const char* kOptions =
    "-c statement_timeout=60000 -c lock_timeout=30000 -c client_min_messages=warning "
    "-c timezone=UTC";

bool values_refused(std::string_view state) {
  return state.starts_with("21") || state.starts_with("22") || state.starts_with("23") ||
         state.starts_with("54");
}

}  // namespace

PgRows::PgRows(pg_result* result) : result_(result) {}
void PgRows::Clear::operator()(pg_result* result) const { PQclear(result); }
int PgRows::size() const { return PQntuples(result_.get()); }
bool PgRows::null(int row, int column) const { return PQgetisnull(result_.get(), row, column) == 1; }
std::string_view PgRows::text(int row, int column) const {
  return {PQgetvalue(result_.get(), row, column),
          static_cast<std::size_t>(PQgetlength(result_.get(), row, column))};
}
std::int64_t PgRows::integer(int row, int column) const {
  return std::atoll(PQgetvalue(result_.get(), row, column));
}
double PgRows::number(int row, int column) const {
  if (null(row, column)) return std::numeric_limits<double>::quiet_NaN();
  return std::strtod(PQgetvalue(result_.get(), row, column), nullptr);
}

void Postgres::Finish::operator()(pg_conn* connection) const { PQfinish(connection); }

Result<bool> Postgres::check_url(const std::string& url) {
  char* words = nullptr;
  PQconninfoOption* options = PQconninfoParse(url.c_str(), &words);
  if (!options) {
    Error error{Cause::bad_config, one_line(words ? words : "not a connection string")};
    PQfreemem(words);
    return error;
  }
  bool inline_password = false;
  for (const auto* option = options; option->keyword; ++option)
    if (std::string_view(option->keyword) == "password" && option->val) inline_password = true;
  PQconninfoFree(options);
  if (inline_password) return Error{Cause::bad_config, "a password stands in it; give it by password_file"};
  return true;
}

Result<Postgres> Postgres::connect(const std::string& url, const std::string& password,
                                   const std::string& role) {
  const std::string options = kOptions + (role.empty() ? std::string() : " -c role=" + role);
  const char* keys[] = {
      "dbname",     "options",          "connect_timeout",           "application_name",
      "keepalives", "tcp_user_timeout", "fallback_application_name", password.empty() ? nullptr : "password",
      nullptr};
  const char* values[] = {url.c_str(), options.c_str(),  "10",   "coilward", "1", "30000",
                          "coilward",  password.c_str(), nullptr};
  Postgres made(PQconnectdbParams(keys, values, 1));
  if (!made.connection_ || PQstatus(made.connection_.get()) != CONNECTION_OK) return made.lost();
  PQsetNoticeProcessor(
      made.connection_.get(), [](void*, const char*) {}, nullptr);
  return made;
}

Result<PgRows> Postgres::run(const std::string& sql, const Parameters& parameters) {
  std::vector<const char*> values;
  for (const auto& parameter : parameters) values.push_back(parameter ? parameter->c_str() : nullptr);
  pg_result* result = PQexecParams(connection_.get(), sql.c_str(), static_cast<int>(values.size()), nullptr,
                                   values.data(), nullptr, nullptr, 0);
  PgRows rows(result);
  const auto status = PQresultStatus(result);
  if (status != PGRES_TUPLES_OK && status != PGRES_COMMAND_OK) return error_of(result);
  return rows;
}

Result<bool> Postgres::script(const std::string& sql) {
  pg_result* result = PQexec(connection_.get(), sql.c_str());
  const PgRows rows(result);
  const auto status = PQresultStatus(result);
  if (status != PGRES_TUPLES_OK && status != PGRES_COMMAND_OK) return error_of(result);
  return true;
}

void Postgres::roll_back() {
  if (PQtransactionStatus(connection_.get()) != PQTRANS_IDLE) PQclear(PQexec(connection_.get(), "rollback"));
}

bool Postgres::broken() const { return PQstatus(connection_.get()) != CONNECTION_OK; }

Error Postgres::lost() const {
  return {Cause::world, one_line(connection_ ? PQerrorMessage(connection_.get()) : "out of memory")};
}

Error Postgres::error_of(const pg_result* result) const {
  const char* state = result ? PQresultErrorField(result, PG_DIAG_SQLSTATE) : nullptr;
  if (state && values_refused(state)) return {Cause::bad_input, one_line(PQresultErrorMessage(result))};
  return lost();
}

}  // namespace coilward
