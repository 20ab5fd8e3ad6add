// Every message there is, for whom it may be, and how it is looked at.
#pragma once

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/wording.h"

namespace coilward {

inline constexpr Language kLanguages[] = {Language::english, Language::spanish};
inline constexpr AlertKind kOfFindings[] = {AlertKind::opened, AlertKind::worse, AlertKind::repeat,
                                            AlertKind::closed};

// Every message there is, by fault, severity, kind, number of zones, history.
inline std::vector<Alert> every_alert() {
  std::vector<Alert> alerts;
  for (int i = 0; i < kFaults; ++i)
    for (Severity severity : {Severity::watch, Severity::soon, Severity::urgent})
      for (AlertKind kind : kOfFindings)
        for (int form = 0; form < 3; ++form) {
          Alert alert;
          Finding f = test_finding(4, static_cast<Fault>(i));
          f.severity = severity;
          if (form > 0) f.zones = {0, 4, 7};
          if (kind == AlertKind::closed)
            f = ended(f, at_hours(5), form == 2 ? "withdrawn" : "draws normally again");
          alert.id = f.id + ".1";
          alert.kind = kind;
          alert.severity = severity;
          alert.site_name = "Juniper Row 12";
          alert.raised = test_start();
          alert.findings = {f};
          alert.details = {{form != 1, 3, form == 2}};
          alert.draws = {{4, {0.23, 0.231, 0.229, 0.002}, 0.214, 0.248}};
          alerts.push_back(alert);
        }
  return alerts;
}

inline std::vector<Alert> every_trouble() {
  std::vector<Alert> alerts;
  for (const char* key :
       {"broker", "sensors", "refused", "client_id", "spool", "disk", "clock", "outbox phone", "unread phone",
        "waiting", "snapshot", "repair", "reload", "left_out"})
    for (bool lasting : {true, false}) {
      Alert alert;
      alert.id = fmt::format("juniper-row-12.{}.1", key);
      alert.kind = AlertKind::installation;
      alert.site_name = "Juniper Row 12";
      alert.raised = test_start();
      alert.trouble = AlertTrouble{key,
                                   {{"why", "the disk is full"},
                                    {"time", "noon"},
                                    {"notifier", "phone"},
                                    {"count", "3"},
                                    {"topics", "measure/#"},
                                    {"minutes", "20"}},
                                   test_start(),
                                   lasting,
                                   lasting};
      alerts.push_back(alert);
    }
  return alerts;
}

inline Listener to(Audience audience, Language language, std::vector<std::string> others = {"Ben"}) {
  return {audience, language, std::move(others), 0};
}

// Words of the trade in both languages, by their beginnings, so that "ohms" and "empalmes" are met too.
inline constexpr std::string_view kJargon[] = {
    "ohm",          "solenoid",   "common wire", "the common", "amp ",      "amps",     "ampere",
    "amperi",       "milliamp",   "volt",        "rms",        "circuit",   "open_",    "splice",
    "coil ",        "coil.",      "coils",       "plunger",    "armature",  "resist",   "impedan",
    "inrush",       "current",    "transformer", "fuse",       "breaker",   "insulat",  "earth",
    "ground wire",  "leakage",    "multimeter",  "clamp",      "test read", "finding",  "probabil",
    "broker",       "mqtt",       "daemon",      "topic",      "outbox",    "notifier", "sensor",
    "coilward ack", "solenoide",  "cable com",   "el común",   "corriente", "circuito", "cortocirc",
    "empalme",      "bobina",     "émbolo",      "resistenc",  "voltaje",   "fusible",  "interruptor",
    "aislante",     "tierra fís", "fuga",        "multímetro", "pinza",     "hallazgo", "notificador"};

// The first of them in a text; empty: none.
inline std::string jargon_in(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  for (const auto& term : kJargon)
    for (auto at = text.find(term); at != std::string::npos; at = text.find(term, at + 1))
      if (at == 0 || !std::isalpha(static_cast<unsigned char>(text[at - 1]))) return std::string(term);
  return {};
}

inline void expect_plain(const Spoken& said) {
  for (const std::string& text : {said.subject, said.text}) {
    EXPECT_EQ(jargon_in(text), "") << text;
    EXPECT_EQ(text.find('{'), std::string::npos) << text;
  }
}

inline std::string first_line_of(const Alert& alert, Audience audience, Language language) {
  const auto text = spoken(alert, to(audience, language), test_site()).text;
  return text.substr(0, text.find('\n'));
}

}  // namespace coilward
