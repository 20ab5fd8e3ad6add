// The other side of each notifier, with troubles that can be switched on and off.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "plugins/common/script_server.h"
#include "plugins/common/test_certificate.h"
#include "tests/support/broker.h"

namespace coilward {

enum class Trouble { none, refuse, later_4xx, later_5xx, hang, tls };
inline constexpr Trouble kTroubles[] = {Trouble::refuse, Trouble::later_4xx, Trouble::later_5xx,
                                        Trouble::hang, Trouble::tls};
std::string_view trouble_name(Trouble trouble);

class ReceivingEnd {
 public:
  virtual ~ReceivingEnd() = default;
  virtual std::string plugin() const = 0;
  virtual nlohmann::ordered_json settings() const = 0;
  virtual bool can(Trouble trouble) const = 0;
  // Trouble::none: it takes alerts from now on.
  virtual void set(Trouble trouble) = 0;
  virtual std::vector<std::string> taken() = 0;  // ids, since the last call, at least one of them within 10 s
};

std::unique_ptr<ReceivingEnd> receiving_end(const std::string& plugin);

}  // namespace coilward
