#include "daemon/fleet/server/migrations.h"

#include <fmt/format.h>

#include "daemon/base/log.h"

namespace coilward {
namespace {

constexpr const char* kBegin =
    "begin; select pg_advisory_xact_lock(7411001);"
    "create table if not exists schema_version (version integer primary key, at timestamptz not null default "
    "now())";

// true: one step was made.
Result<bool> step(Postgres& database) {
  if (auto begun = database.script(kBegin); !begun) return begun.error();
  const auto version = database.run("select coalesce(max(version), 0) from schema_version");
  if (!version) return version.error();
  const auto done = static_cast<std::size_t>(version->integer(0, 0));
  const auto& steps = fleet_migrations();
  if (done > steps.size())
    return Error{
        Cause::bad_config,
        fmt::format("the database is of version {}, this program knows {}: it was made by a newer one", done,
                    steps.size())};
  if (done == steps.size()) return database.script("commit") ? Result<bool>(false) : database.lost();
  if (auto made = database.script(std::string(steps[done])); !made) return made.error();
  const auto noted =
      database.run("insert into schema_version (version) values ($1)", {std::to_string(done + 1)});
  if (!noted) return noted.error();
  if (auto kept = database.script("commit"); !kept) return kept.error();
  log::info("the database is of version {} now", done + 1);
  return true;
}

}  // namespace

Result<bool> migrate_fleet(Postgres& database) {
  for (;;) {
    const auto more = step(database);
    if (more && *more) continue;
    if (!more) database.roll_back();
    return more;
  }
}

}  // namespace coilward
