// OpenMetrics 1.0 text: https://openmetrics.io. Every family is written once, with its samples together.
#include <fmt/format.h>

#include <cmath>
#include <map>

#include "daemon/web/api_route.h"
#include "daemon/web/site_json.h"

namespace coilward {
namespace {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\' || c == '"') out.push_back('\\');
    if (c == '\n')
      out += "\\n";
    else
      out.push_back(c);
  }
  return out;
}

std::string labels(const Metric& metric) {
  std::string out;
  for (const auto& [name, value] : metric.labels)
    out += fmt::format("{}{}=\"{}\"", out.empty() ? "" : ",", name, escaped(value));
  return out.empty() ? out : "{" + out + "}";
}

std::string value_text(double value) {
  if (std::isnan(value)) return "NaN";
  if (std::isinf(value)) return value > 0 ? "+Inf" : "-Inf";
  return fmt::format("{}", value);
}

void append_family(std::string& out, const std::vector<const Metric*>& family) {
  const Metric& first = *family.front();
  const bool counter = first.kind == Metric::Kind::counter;
  out += fmt::format("# TYPE {} {}\n# HELP {} {}\n", first.name, counter ? "counter" : "gauge", first.name,
                     escaped(first.help));
  for (const Metric* metric : family)
    out += fmt::format("{}{}{} {}\n", metric->name, counter ? "_total" : "", labels(*metric),
                       value_text(metric->value));
}

Metric gauge(std::string name, std::string help, double value) {
  return {std::move(name), std::move(help), Metric::Kind::gauge, {}, value};
}

// What every site has, whatever the process counts beside it.
void add_site_metrics(std::vector<Metric>& metrics, const SiteAccess& site) {
  const auto open = site.findings(false);
  std::map<Severity, int> by_severity = {{Severity::watch, 0}, {Severity::soon, 0}, {Severity::urgent, 0}};
  if (open)
    for (const Finding& finding : *open) ++by_severity[finding.severity];
  for (const auto& [severity, count] : by_severity) {
    metrics.push_back(gauge("coilward_findings_open", "Open findings by severity.", count));
    metrics.back().labels = {{"severity", std::string(severity_name(severity))}};
  }
  metrics.push_back(gauge("coilward_healthy", "1 when every stage is sound.", all_ok(site.health()) ? 1 : 0));
  for (const ZoneState& zone : site.zones()) {
    metrics.push_back(
        gauge("coilward_zone_normal_amperes", "Learned holding current of a zone.", zone.normal.hold_amps));
    metrics.back().labels = {{"zone", std::to_string(zone.number)}};
  }
}

}  // namespace

ApiResponse get_metrics(const Call& call) {
  if (!call.site.config().http.metrics)
    return problem({Cause::not_found, "metrics are switched off in the configuration"});
  std::vector<Metric> metrics = call.site.metrics();
  add_site_metrics(metrics, call.site);
  return metrics_response(metrics);
}

ApiResponse metrics_response(const std::vector<Metric>& metrics) {
  std::map<std::string, std::vector<const Metric*>> families;
  for (const Metric& metric : metrics) families[metric.name].push_back(&metric);
  ApiResponse response{200, "application/openmetrics-text; version=1.0.0; charset=utf-8"};
  for (const auto& [name, family] : families) append_family(response.body, family);
  response.body += "# EOF\n";
  return response;
}

}  // namespace coilward
