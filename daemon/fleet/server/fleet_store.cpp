#include "daemon/fleet/server/fleet_store.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/base/log.h"
#include "daemon/fleet/server/fleet_sql.h"

namespace coilward {
namespace {

// Sites and bodies are checked: they stand in JSON as they are.
std::string json_of_messages(const std::vector<const SiteMessage*>& messages) {
  std::string out = "[";
  for (const SiteMessage* m : messages)
    out += fmt::format(R"({}{{"site":"{}","epoch":{},"seq":{},"at":"{}","kind":{},"body":{}}})",
                       out.size() > 1 ? "," : "", m->site, m->head.epoch, m->head.seq,
                       format_rfc3339(m->head.made), static_cast<int>(m->head.kind), m->body);
  return out + "]";
}

auto key_of(const SiteMessage& m) { return std::tuple(m.site, m.head.epoch, m.head.seq); }

bool has(const std::vector<SiteMessage>& messages, UplinkKind kind) {
  return std::ranges::any_of(messages, [kind](const SiteMessage& m) { return m.head.kind == kind; });
}

}  // namespace

Result<SiteMessage> site_message(std::string site, std::string_view payload, bool& unreadable) {
  const auto read = read_uplink(payload);
  if (!read) return read.error();
  SiteMessage message{std::move(site), read->head, "{}"};
  auto body = unsqueeze_uplink_body(read->squeezed);
  // PostgreSQL has no text with a zero in it.
  unreadable = !body || !nlohmann::json::accept(*body) || body->find("\\u0000") != std::string::npos;
  if (unreadable)
    message.head.kind = UplinkKind::lost;
  else
    message.body = std::move(*body);
  return message;
}

Result<IngestCounts> FleetStore::ingest(std::vector<SiteMessage> messages) {
  std::ranges::sort(messages, {}, key_of);
  const auto twice = std::ranges::unique(messages, {}, key_of);
  const auto repeated = static_cast<std::uint64_t>(twice.size());
  messages.erase(twice.begin(), twice.end());
  auto counts = write(messages);
  if (!counts && counts.error().cause == Cause::bad_input) counts = ingest_one_by_one(messages);
  if (counts) counts->again += repeated;
  return counts;
}

// One that the database refuses must not hold up the rest, nor its own site: its number is kept, without it.
Result<IngestCounts> FleetStore::ingest_one_by_one(std::vector<SiteMessage>& messages) {
  IngestCounts all;
  for (SiteMessage& message : messages) {
    std::vector<SiteMessage> one{std::move(message)};
    auto counts = write(one);
    if (!counts && counts.error().cause == Cause::bad_input) {
      log::limited(log::Level::warning, "refused " + one[0].site,
                   fmt::format("message {} of site {} is not as it should be: {}", one[0].head.seq,
                               one[0].site, counts.error().what));
      one[0].head.kind = UplinkKind::lost;
      one[0].body = "{}";
      counts = write(one);
      if (counts) ++counts->refused;
    }
    if (!counts) return counts.error();
    all.fresh += counts->fresh;
    all.again += counts->again;
    all.refused += counts->refused;
  }
  return all;
}

Result<IngestCounts> FleetStore::write(const std::vector<SiteMessage>& messages) {
  const auto failed = [this](const Error& error) {
    database_.roll_back();
    return error;
  };
  if (messages.empty()) return IngestCounts{};
  if (auto months = ensure_months(messages); !months) return failed(months.error());
  std::vector<const SiteMessage*> fresh;
  for (const SiteMessage& message : messages) fresh.push_back(&message);
  const std::string all = json_of_messages(fresh);
  if (auto begun = database_.script("begin"); !begun) return failed(begun.error());
  const auto written = database_.run(sql::kLedger, {all});
  if (!written) return failed(written.error());
  std::set<std::tuple<std::string, std::int64_t, std::int64_t>> is_new;
  for (int row = 0; row < written->size(); ++row)
    is_new.emplace(std::string(written->text(row, 0)), written->integer(row, 1), written->integer(row, 2));
  std::erase_if(fresh, [&](const SiteMessage* m) { return !is_new.contains(key_of(*m)); });
  if (auto heard = database_.run(sql::kHeard, {all}); !heard) return failed(heard.error());
  if (!fresh.empty())
    if (auto applied = apply(json_of_messages(fresh)); !applied) return failed(applied.error());
  if (auto kept = database_.script("commit"); !kept) return failed(kept.error());
  return IngestCounts{fresh.size(), messages.size() - fresh.size(), 0};
}

Result<bool> FleetStore::apply(const std::string& fresh) {
  for (const char* statement :
       {sql::kDescribe, sql::kZones, sql::kHealth, sql::kFindings, sql::kRuns, sql::kWater, sql::kHistory})
    if (auto done = database_.run(statement, {fresh}); !done) return done.error();
  return true;
}

// Before the batch's own transaction, since a new part of a table locks the whole of it.
Result<bool> FleetStore::ensure_months(const std::vector<SiteMessage>& messages) {
  if (!has(messages, UplinkKind::history)) return true;
  std::vector<const SiteMessage*> some;
  for (const SiteMessage& m : messages)
    if (m.head.kind == UplinkKind::history) some.push_back(&m);
  const auto months = database_.run(sql::kMonths, {json_of_messages(some)});
  if (!months) return months.error();
  for (int row = 0; row < months->size(); ++row) {
    const std::string month(months->text(row, 0));
    if (months_.contains(month)) continue;
    if (auto made = database_.run(sql::kEnsureMonth, {month}); !made) return made.error();
    months_.insert(month);
  }
  return true;
}

Result<std::vector<SiteHave>> FleetStore::have(const Touched& touched) {
  std::string json = "[";
  for (const auto& [site, epoch] : touched)
    json += fmt::format(R"({}{{"site":"{}","epoch":{}}})", json.size() > 1 ? "," : "", site, epoch);
  json += "]";
  if (auto begun = database_.run(sql::kMarksBegin, {json}); !begun) return begun.error();
  const auto rows = database_.run(sql::kMarks, {json});
  if (!rows) return rows.error();
  std::vector<SiteHave> list;
  for (int row = 0; row < rows->size(); ++row)
    list.push_back({std::string(rows->text(row, 0)), {rows->integer(row, 1), rows->integer(row, 2)}});
  return list;
}

Result<bool> FleetStore::set_states(const std::vector<SiteState>& states) {
  nlohmann::json json = nlohmann::json::array();
  for (const SiteState& state : states)
    json.push_back({{"site", state.site},
                    {"online", state.online},
                    {"at", format_rfc3339(state.at)},
                    {"n", json.size()}});
  const auto done = database_.run(sql::kStates, {json.dump()});
  return done ? Result<bool>(true) : done.error();
}

Result<bool> FleetStore::forget_old() {
  const auto done = database_.run(sql::kForget);
  return done ? Result<bool>(true) : done.error();
}

}  // namespace coilward
