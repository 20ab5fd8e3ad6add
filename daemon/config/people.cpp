#include "daemon/config/config.h"

namespace coilward {
namespace {

constexpr std::string_view kAudiences[] = {"homeowner", "technician", "contractor"};
constexpr std::string_view kLanguages[] = {"en", "es"};

}  // namespace

std::string_view audience_name(Audience audience) { return kAudiences[static_cast<std::size_t>(audience)]; }
std::optional<Audience> audience_from_name(std::string_view name) {
  for (Audience each : {Audience::homeowner, Audience::technician, Audience::contractor})
    if (audience_name(each) == name) return each;
  return std::nullopt;
}

std::string_view language_name(Language language) { return kLanguages[static_cast<std::size_t>(language)]; }
std::optional<Language> language_from_name(std::string_view name) {
  for (Language each : {Language::english, Language::spanish})
    if (language_name(each) == name) return each;
  return std::nullopt;
}

}  // namespace coilward
