#include "daemon/web/assets.h"

#include <fmt/format.h>

#include <array>
#include <cstdint>

#include "daemon/web/api_route.h"
#include "daemon/web/assets_text.h"

namespace coilward {
namespace {

constexpr std::string_view kScript = "text/javascript; charset=utf-8", kCss = "text/css; charset=utf-8";

// The chart's licence goes with every copy of it that is handed out.
const std::string& chart_library() {
  static const std::string text = fmt::format("/*\n{}*/\n{}", kUplotLicence, kUplotScript);
  return text;
}

const std::array<Asset, 9>& all_assets() {
  static const std::array<Asset, 9> assets = {{
      {"style.css", kCss, kStyleText},
      {"sheet.css", kCss, kSheetStyle},
      {"live.js", kScript, kLiveScript},
      {"chart.js", kScript, kChartScript},
      {"told.js", kScript, kToldScript},
      {"hand.js", kScript, kHandScript},
      {"uplot.js", kScript, chart_library()},
      {"uplot.css", kCss, kUplotStyle},
      {"icon.svg", "image/svg+xml", kIconText},
  }};
  return assets;
}

// FNV-1a.
std::uint32_t text_version(std::string_view text) {
  std::uint32_t hash = 2166136261u;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619u;
  return hash;
}

}  // namespace

const Asset* find_asset(std::string_view name) {
  for (const Asset& asset : all_assets())
    if (asset.name == name) return &asset;
  return nullptr;
}

std::string asset_path(std::string_view name) {
  const Asset* asset = find_asset(name);
  return fmt::format("/assets/{}?v={:08x}", name, asset ? text_version(asset->text) : 0);
}

ApiResponse get_asset(const Call& call) { return asset_response(call.args[0], !call.query("v").empty()); }

ApiResponse asset_response(std::string_view name, bool forever) {
  const Asset* asset = find_asset(name);
  if (!asset) return problem({Cause::not_found, fmt::format("there is no such file: {}", name)});
  ApiResponse response{200, std::string(asset->content_type), std::string(asset->text)};
  if (forever) response.cache = "public, max-age=31536000, immutable";
  return response;
}

// At the root, so that its scope is all of the site; asked for anew each time, so that an old one does not
// stay.
ApiResponse get_worker(const Call&) {
  ApiResponse response{200, std::string(kScript), std::string(kWorkerScript)};
  response.cache = "no-cache";
  return response;
}

ApiResponse get_manifest(const Call&) {
  return {200, "application/manifest+json", std::string(kManifestText)};
}

}  // namespace coilward
