// What each verb does once its command line is understood. Each gives the exit status. Thread: one.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/cli/api_caller.h"

namespace coilward {

struct HistoryOptions {
  SiteOptions site;
  std::vector<int> zones;  // empty, with an empty channel: all zones
  std::string channel;
  std::string since, until, every;
  bool csv = false, excel = false;
};

struct ExportOptions {
  SiteOptions site;
  std::string what = "readings";  // readings, runs, findings
  std::string since, until;
  bool excel = false;
  std::string out;  // file; empty or "-": stdout
};

struct AcknowledgeOptions {
  SiteOptions site;
  std::string finding, by, length, until;
};
struct PauseOptions {
  SiteOptions site;
  std::string length, until;  // one of them, unless `end`
  std::optional<int> zone;
  std::string by, reason;
  bool end = false;
};

struct RepairOptions {
  SiteOptions site;
  std::vector<std::string> target;  // "4", "main", "zone 4", "common main"
  std::optional<int> zone;
  std::string common;
  bool new_coil = false;
  std::string by;
};

struct RestoreOptions {
  SiteOptions site;
  std::string backup;
};

// What was given of it; empty or nothing: was not.
struct TestReadingOptions {
  SiteOptions site;
  std::string finding, at, ohms, toward, conductor, by;
  std::optional<double> volts_on, source_volts, volts_to_earth;
};

struct CommissionOptions {
  SiteOptions site;  // config: what it begins with
  std::string out;   // empty: the same file
  double wait_s = 60, settle_s = 1.5;
};

struct PersonOptions {
  SiteOptions site;
  std::string action;  // add, list, password, remove
  std::string name, role, password_file;
  std::string organisation, only_site;  // at the contractor's server
};

// At the contractor's server.
struct OrganisationOptions {
  SiteOptions site;
  std::string action;     // add, give, list
  std::string id, name;   // name: add, for people
  std::string only_site;  // give
};

struct ShareOptions {
  SiteOptions site;
  std::string action;  // add, end, list
  std::string what;    // add: whom it is for; end: its id
  int days = 7;
  std::string by;
};

int check_config(const std::string& file, bool json);
int show_zones(const SiteOptions& options);
int show_findings(const SiteOptions& options, bool all);
int show_history(const HistoryOptions& options);
int show_runs(const HistoryOptions& options);
int show_health(const SiteOptions& options);
int export_history(const ExportOptions& options);
int locate(const SiteOptions& options, const std::string& finding);
int test_reading(const TestReadingOptions& options);
// finding: empty for all that are open.
int show_visit(const SiteOptions& options, const std::string& finding);
int test_alert_verb(const SiteOptions& options, const std::string& notifier);
int acknowledge(const AcknowledgeOptions& options);
int pause_alerts(const PauseOptions& options);
int repaired(const RepairOptions& options);
int commission(const CommissionOptions& options);
int backup_site(const SiteOptions& options, const std::string& directory);
int restore_site(const RestoreOptions& options);
int person_verb(const PersonOptions& options);
int share_verb(const ShareOptions& options);
int organisation_verb(const OrganisationOptions& options);

// The person at the keyboard, for the record.
std::string person();

}  // namespace coilward
