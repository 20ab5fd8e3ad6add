// The HTML of a mail: readable on a phone of 360 px and in the dark, from no other host, without a script.
// The plain text beside it says the same. Thread: any.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

namespace coilward_plugins {

// alert: its JSON (plugins/notifiers/README.md); missing keys are left out. page: address of coilward's page,
// without a "/" at its end; empty: no links.
std::string mail_html(const nlohmann::json& alert, const std::string& page);

// One finding's page below `page`; that of the site for none.
std::string page_link(const nlohmann::json& alert, const std::string& page);

std::string url_text(std::string_view text);   // percent-encoded, as part of an address
std::string html_text(std::string_view text);  // safe as text and in a quoted attribute

// One entry of the alert's `draws`, {"zone", "amps": [..], "low", "high"}: a drawing (SVG) with the normal
// band, and a line of block characters with the figures, for mail programs that show no drawings. Empty for
// fewer than three runs.
std::string draw_part(const nlohmann::json& draw);

}  // namespace coilward_plugins
