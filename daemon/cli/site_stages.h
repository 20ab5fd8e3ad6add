// A configuration with the stages built on it, for `replay` and for files alone: what a daemon has without
// its broker, sockets and threads. Thread: one.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/intake/intake.h"
#include "daemon/site_pipeline.h"
#include "daemon/web/site_snapshot.h"

namespace coilward {

// Passes on what the pipeline tells to whoever listens at the moment.
class ListenerSwitch final : public PipelineListener {
 public:
  PipelineListener* to = nullptr;
  void on_reading(const Reading& reading) override {
    if (to) to->on_reading(reading);
  }
  void on_run(const Run& run) override {
    if (to) to->on_run(run);
  }
  void on_finding(const Finding& finding) override {
    if (to) to->on_finding(finding);
  }
  void on_forecast(const Finding& finding) override {
    if (to) to->on_forecast(finding);
  }
};

class SiteStages {
 public:
  // Reads the configuration and loads its decoders. bad_config.
  static Result<std::unique_ptr<SiteStages>> build(const std::string& config_file);
  ~SiteStages();

  const Config& config() const;
  Intake& intake();
  Pipeline& pipeline();
  const Pipeline& pipeline() const;
  // nullptr: nobody.
  void listen(PipelineListener* listener);
  // A new pipeline, then what was saved of pipeline and intake. bad_input: saved by something else.
  Result<bool> restore(const SiteSnapshot& saved);
  // That every notifier and exporter of the configuration is installed and takes its settings. bad_config.
  Result<bool> check_senders();

 private:
  class Impl;
  explicit SiteStages(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
