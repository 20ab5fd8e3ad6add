// One connection to PostgreSQL: libpq with its results and errors as values.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"

struct pg_conn;
struct pg_result;

namespace coilward {

// What a statement gave. Texts as PostgreSQL writes them; they live as long as the rows.
class PgRows {
 public:
  explicit PgRows(pg_result* result);
  int size() const;
  bool null(int row, int column) const;
  std::string_view text(int row, int column) const;  // "" for null
  std::int64_t integer(int row, int column) const;   // 0 for null
  double number(int row, int column) const;          // NaN for null
  bool truth(int row, int column) const { return text(row, column) == "t"; }

 private:
  struct Clear {
    void operator()(pg_result* result) const;
  };
  std::unique_ptr<pg_result, Clear> result_;
};

// Thread: one at a time. Errors: bad_input when the values were refused (SQLSTATE classes 21, 22, 23 and 54),
// world for all else, where the same may go well later.
class Postgres {
 public:
  // url: a connection string of libpq (a URI or keywords), without a password; password: empty for none.
  // role: as which it works, of those that the user may be; empty: as the user. Waits ten seconds at most.
  // bad_config: the url cannot be read.
  static Result<Postgres> connect(const std::string& url, const std::string& password,
                                  const std::string& role = {});
  // bad_config with libpq's words, nothing is connected.
  static Result<bool> check_url(const std::string& url);

  // One statement; parameters are texts, nullopt is null.
  using Parameters = std::vector<std::optional<std::string>>;
  Result<PgRows> run(const std::string& sql, const Parameters& parameters = {});
  // Several statements, without results.
  Result<bool> script(const std::string& sql);
  void roll_back();
  // The connection is broken: make another.
  bool broken() const;
  Error lost() const;  // in words

 private:
  struct Finish {
    void operator()(pg_conn* connection) const;
  };
  explicit Postgres(pg_conn* connection) : connection_(connection) {}
  Error error_of(const pg_result* result) const;
  std::unique_ptr<pg_conn, Finish> connection_;
};

}  // namespace coilward
