// Forecasts of the open findings that slowly get worse: of a bad splice in a zone wire or in a common.
//
// What was said of a finding stays as it is until it changes by more than people care for, so that the same
// finding is not said anew after every run. No clock, thread or file. Thread: one at a time.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/forecast/draw_record.h"

namespace coilward {

class Forecasts {
 public:
  // Of all zones, at the site's present supply.
  using Normals = std::function<std::vector<NormalDraw>()>;

  // config outlives it.
  Forecasts(const Config& config, Normals normals) : config_(config), normals_(std::move(normals)) {}

  void run(const Run& run);  // finished
  void repaired(const std::vector<int>& zones);
  // Looks at an open finding anew, after a run of one of its zones. true: what can be said of it has changed.
  bool look(const Finding& finding);
  // The finding with what is said of it; a new one is looked at.
  Finding with(Finding finding);
  Finding as_said(Finding finding) const;

  Json save() const;
  void restore(const Json& saved);  // throws nlohmann::json::exception on another shape

 private:
  std::optional<LiftForecast> forecast_of(const Finding& finding) const;

  const Config& config_;
  Normals normals_;
  DrawRecord record_;
  std::map<std::string, std::optional<LiftForecast>> said_;  // by finding id
};

}  // namespace coilward
