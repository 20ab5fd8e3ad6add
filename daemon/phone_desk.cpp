#include "daemon/phone_desk.h"

#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "daemon/host/plugin_place.h"
#include "plugins/notifiers/webpush/base64url.h"
#include "plugins/notifiers/webpush/phones.h"
#include "plugins/notifiers/webpush/push_key.h"
#include "plugins/notifiers/webpush/vapid.h"

namespace coilward {
namespace {

using coilward_plugins::Phones;
using coilward_plugins::PushKey;

// As the plugin reads its settings (plugins/notifiers/webpush/push_call.cpp).
struct PushPlace {
  std::string directory, key_file;
};

std::string text_or(const PluginUse& use, const char* key, const std::string& otherwise) {
  const auto it = use.settings.find(key);
  const bool said = it != use.settings.end() && it->is_string() && !it->get_ref<const std::string&>().empty();
  return said ? it->get<std::string>() : otherwise;
}

PushPlace push_place(const Config& config, const PluginUse& use) {
  const std::string directory = text_or(use, "directory", own_directory(config, use));
  return {directory, text_or(use, "key_file", std::filesystem::path(directory).parent_path() / "vapid.pem")};
}

PhoneView view_of_phone(const coilward_plugins::Phone& phone) {
  constexpr std::size_t kScheme = 8;  // https://
  return {phone.id, phone.label, coilward_plugins::push_origin(phone.endpoint).substr(kScheme),
          from_ms(phone.since_s * 1000)};
}

}  // namespace

// What the library throws becomes a Result.
template <class Body>
auto WebPushDesk::at(const std::string& notifier, Body body) const {
  using Answer = Result<decltype(body(PushPlace{}))>;
  for (const PluginUse& use : config_.notifiers) {
    if (use.name != notifier || use.plugin != "webpush") continue;
    try {
      return Answer(body(push_place(config_, use)));
    } catch (const std::invalid_argument& e) {
      return Answer(Error{Cause::bad_input, e.what()});
    } catch (const std::exception& e) {
      return Answer(Error{Cause::world, e.what()});
    }
  }
  return Answer(Error{Cause::not_found, fmt::format("there is no webpush notifier '{}'", notifier)});
}

Result<std::string> WebPushDesk::key(const std::string& notifier) {
  return at(notifier, [](const PushPlace& place) {
    return coilward_plugins::base64url(PushKey::read_or_make(place.key_file).point());
  });
}

Result<std::vector<PhoneView>> WebPushDesk::phones(const std::string& notifier) {
  return at(notifier, [](const PushPlace& place) {
    std::vector<PhoneView> views;
    for (const auto& phone : Phones(place.directory).all()) views.push_back(view_of_phone(phone));
    return views;
  });
}

Result<bool> WebPushDesk::add(const std::string& notifier, const PhoneSubscription& subscription) {
  return at(notifier, [&](const PushPlace& place) {
    Phones(place.directory)
        .add({subscription.endpoint, subscription.p256dh, subscription.auth, subscription.label},
             to_ms(clock_.utc()) / 1000);
    return true;
  });
}

Result<bool> WebPushDesk::remove(const std::string& notifier, const std::string& id) {
  const auto removed =
      at(notifier, [&](const PushPlace& place) { return Phones(place.directory).remove(id); });
  if (removed && !*removed) return Error{Cause::not_found, "there is no such phone"};
  return removed;
}

}  // namespace coilward
