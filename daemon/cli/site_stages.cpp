#include "daemon/cli/site_stages.h"

#include <fmt/format.h>

#include <optional>

#include "daemon/host/plugin_host.h"
#include "daemon/host/plugin_place.h"

namespace coilward {

class SiteStages::Impl {
 public:
  explicit Impl(Config c) : config(std::move(c)), host(config.paths.plugins) {}

  Result<bool> build() {
    auto made = Intake::make(config, host);
    if (!made) return made.error();
    intake = std::move(*made);
    pipeline.emplace(config, *intake, listener);
    return true;
  }

  const Config config;
  PluginHost host;
  ListenerSwitch listener;
  std::unique_ptr<Intake> intake;
  std::optional<Pipeline> pipeline;
};

Result<std::unique_ptr<SiteStages>> SiteStages::build(const std::string& config_file) {
  auto config = load_config(config_file);
  if (!config) return config.error();
  auto impl = std::make_unique<Impl>(std::move(*config));
  if (const auto built = impl->build(); !built) return built.error();
  return std::unique_ptr<SiteStages>(new SiteStages(std::move(impl)));
}

SiteStages::SiteStages(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
SiteStages::~SiteStages() = default;
const Config& SiteStages::config() const { return impl_->config; }
Intake& SiteStages::intake() { return *impl_->intake; }
Pipeline& SiteStages::pipeline() { return *impl_->pipeline; }
const Pipeline& SiteStages::pipeline() const { return *impl_->pipeline; }
void SiteStages::listen(PipelineListener* listener) { impl_->listener.to = listener; }

Result<bool> SiteStages::restore(const SiteSnapshot& saved) {
  impl_->pipeline.emplace(impl_->config, *impl_->intake, impl_->listener);
  if (!saved.intake.is_null())
    if (const auto restored = impl_->intake->restore(saved.intake); !restored) return restored;
  return saved.pipeline.is_null() ? Result<bool>(true) : impl_->pipeline->restore(saved.pipeline);
}

Result<bool> SiteStages::check_senders() {
  const Config& config = impl_->config;
  for (const PluginUse& use : config.notifiers) {
    const PluginPlace place = place_of(config, use, "notifier");
    if (const auto made = impl_->host.notifier(use.plugin, use.settings, place); !made) return made.error();
  }
  for (const PluginUse& use : config.exporters) {
    const PluginPlace place = place_of(config, use, "exporter");
    if (const auto made = impl_->host.exporter(use.plugin, use.settings, place); !made) return made.error();
  }
  return true;
}

}  // namespace coilward
