#include "daemon/web/form_guard.h"

#include <fmt/format.h>

#include <algorithm>
#include <random>

#include "daemon/web/query.h"

namespace coilward {

Result<FormFields> parse_form(std::string_view body) {
  FormFields fields;
  while (!body.empty()) {
    const std::string_view pair = body.substr(0, body.find('&'));
    body.remove_prefix(std::min(pair.size() + 1, body.size()));
    if (pair.empty()) continue;
    const std::size_t equals = std::min(pair.find('='), pair.size());
    const auto name = percent_decoded(pair.substr(0, equals), true);
    const auto value = percent_decoded(pair.substr(std::min(equals + 1, pair.size())), true);
    if (!name || !value) return Error{Cause::bad_input, "the form has a broken %-escape"};
    if (!fields.emplace(*name, *value).second)
      return Error{Cause::bad_input, "'" + *name + "' is given twice"};
  }
  return fields;
}

std::string make_form_token() {
  std::random_device random;  // the kernel's own source on Linux
  std::string token;
  for (int i = 0; i < 4; ++i) token += fmt::format("{:08x}", random());
  return token;
}

bool same_token(std::string_view a, std::string_view b) {
  unsigned different = a.size() != b.size() || a.empty();
  for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
    different |= static_cast<unsigned char>(a[i] ^ b[i]);
  return different == 0;
}

bool from_own_page(std::string_view origin, std::string_view fetch_site, std::string_view host) {
  if (origin.empty() && fetch_site.empty()) return false;
  if (!fetch_site.empty() && fetch_site != "same-origin") return false;
  if (origin.empty()) return true;
  return origin == fmt::format("http://{}", host) || origin == fmt::format("https://{}", host);
}

}  // namespace coilward
