// The catalogue: both languages say the same things, simply, and a homeowner hears no word of the trade.
#include "daemon/alerts/words.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <regex>
#include <set>

#include "daemon/alerts/alert_test_site.h"
#include "daemon/alerts/contractor_digest.h"
#include "daemon/alerts/reading_ease.h"
#include "daemon/alerts/wording.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr Language kLanguages[] = {Language::english, Language::spanish};
constexpr AlertKind kOfFindings[] = {AlertKind::opened, AlertKind::worse, AlertKind::repeat,
                                     AlertKind::closed};

std::set<std::string> names_in(const std::string& text) {
  static const std::regex name(R"(\{([^}]*)\})");
  return {std::sregex_token_iterator(text.begin(), text.end(), name, 1), {}};
}

TEST(Catalogue, BothLanguagesHaveTheSameKeysAndNames) {
  const auto& english = Words::in(Language::english).all();
  const auto& spanish = Words::in(Language::spanish).all();
  for (const auto& [key, text] : spanish) EXPECT_TRUE(english.contains(key)) << key;
  for (const auto& [key, text] : english) {
    ASSERT_TRUE(spanish.contains(key)) << key;
    EXPECT_EQ(names_in(text), names_in(spanish.at(key))) << key;
    EXPECT_EQ(text.find_first_of("\r\t"), std::string::npos) << key;
  }
}

TEST(Catalogue, NothingIsLeftInEnglish) {
  const auto& english = Words::in(Language::english).all();
  const auto& spanish = Words::in(Language::spanish).all();
  for (const auto& [key, text] : english)
    if (std::count(text.begin(), text.end(), ' ') >= 3 && text.find('|') == std::string::npos &&
        names_in(text).size() < 4) {
      EXPECT_NE(text, spanish.at(key)) << key;
    }
}

TEST(Catalogue, HasEveryFaultInEveryTable) {
  for (Language language : kLanguages)
    for (int i = 0; i < kFaults; ++i)
      for (const char* table : {"phrase", "headline.one", "headline.many", "next", "homeowner.what.one",
                                "homeowner.what.many", "homeowner.garden", "homeowner.do"})
        EXPECT_TRUE(Words::in(language).has(fmt::format("{}.{}", table, fault_name(static_cast<Fault>(i)))))
            << table;
}

TEST(Catalogue, FillsNamesOnceAndLeavesOthers) {
  EXPECT_EQ(filled("{a} {b} {a", {{"a", "{b}"}}), "{b} {b} {a");
}

// Every message there is, by fault, severity, kind, number of zones, history.
std::vector<Alert> every_alert() {
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

std::vector<Alert> every_trouble() {
  std::vector<Alert> alerts;
  for (const char* key :
       {"broker", "disk", "clock", "outbox phone", "snapshot", "repair", "reload", "left_out"})
    for (bool lasting : {true, false}) {
      Alert alert;
      alert.id = fmt::format("juniper-row-12.{}.1", key);
      alert.kind = AlertKind::installation;
      alert.site_name = "Juniper Row 12";
      alert.raised = test_start();
      alert.trouble =
          AlertTrouble{key,
                       {{"why", "the disk is full"}, {"time", "noon"}, {"notifier", "phone"}, {"count", "3"}},
                       test_start(),
                       lasting,
                       lasting};
      alerts.push_back(alert);
    }
  return alerts;
}

Listener to(Audience audience, Language language, std::vector<std::string> others = {"Ben"}) {
  return {audience, language, std::move(others), 0};
}

// Words of the trade in both languages, by their beginnings, so that "ohms" and "empalmes" are met too.
constexpr std::string_view kJargon[] = {
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
std::string jargon_in(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  for (const auto& term : kJargon)
    for (auto at = text.find(term); at != std::string::npos; at = text.find(term, at + 1))
      if (at == 0 || !std::isalpha(static_cast<unsigned char>(text[at - 1]))) return std::string(term);
  return {};
}

void expect_plain(const Spoken& said) {
  for (const std::string& text : {said.subject, said.text}) {
    EXPECT_EQ(jargon_in(text), "") << text;
    EXPECT_EQ(text.find('{'), std::string::npos) << text;
  }
}

TEST(Homeowner, HearsNoWordOfTheTrade) {
  int texts = 0;
  for (Language language : kLanguages)
    for (const auto& alerts : {every_alert(), every_trouble()})
      for (const auto& alert : alerts)
        for (auto others : {std::vector<std::string>{}, {"Ben"}, {"Ben", "Carla"}}) {
          Listener listener = to(Audience::homeowner, language, others);
          listener.unanswered_h = others.size() == 2 ? 4 : 0;
          expect_plain(spoken(alert, listener, test_site()));
          expect_plain(spoken_digest({alert, alert}, at_hours(8), listener, test_site()));
          ++texts;
        }
  EXPECT_EQ(texts, 2 * 3 * (kFaults * 3 * 4 * 3 + 16));
}

// The list itself is no sieve with holes: what a technician hears is caught by it.
TEST(Homeowner, TheListKnowsTheTrade) {
  for (Language language : kLanguages)
    for (const auto& alert : every_alert())
      if (alert.kind == AlertKind::opened && alert.findings[0].fault != Fault::missed_run) {
        EXPECT_NE(jargon_in(spoken(alert, to(Audience::technician, language), test_site()).text), "");
      }
}

TEST(Homeowner, HearsWhatItMeansWhatToDoAndWhoKnows) {
  Alert alert = every_alert()[8 * 3];
  alert.findings[0] = test_finding(4);
  alert.kind = AlertKind::opened;
  alert.severity = Severity::urgent;
  alert.details = {{}};
  const Spoken said = spoken(alert, to(Audience::homeowner, Language::english), test_site());
  EXPECT_EQ(said.subject, "[Juniper Row 12] East hedge (zone 4) is not being watered");
  EXPECT_EQ(
      said.text,
      "East hedge (zone 4) is not being watered.\n"
      "This began Mon 4 May 2026 00:12 MDT.\n"
      "Plants there get no water until this is fixed. Pots and young plants suffer first.\n\n"
      "In dry weather, water there by hand. Leave the wires and the boxes in the ground alone, and do not "
      "dig there.\n\n"
      "Please see to it today.\n"
      "Ben gets this message too.\n");
  const Spoken es = spoken(alert, to(Audience::homeowner, Language::spanish, {}), test_site());
  EXPECT_EQ(es.subject, "[Juniper Row 12] East hedge (zona 4) no recibe agua");
  EXPECT_THAT(es.text, HasSubstr("Esto empezó lun 4 may 2026 00:12 MDT."));
  EXPECT_THAT(es.text, HasSubstr("léale este número: 20260504-061209-z4\n"));
}

// A trouble of the installation is never told to a homeowner as one of a valve.
TEST(Homeowner, HearsThatNoValveIsAtFaultWhenWeAreBlind) {
  for (const auto& alert : every_trouble())
    if (alert.trouble->lasting) {
      EXPECT_THAT(spoken(alert, to(Audience::homeowner, Language::english), test_site()).text,
                  HasSubstr("This is not a fault of your valves."));
      EXPECT_THAT(spoken(alert, to(Audience::homeowner, Language::spanish), test_site()).text,
                  HasSubstr("No es una falla de sus válvulas."));
    }
}

struct Ease {
  double worst = 1000, sum = 0;
  int texts = 0;
  std::string worst_text;
  void add(double ease, const std::string& text) {
    sum += ease;
    ++texts;
    if (ease < worst) worst = ease, worst_text = text;
  }
  double mean() const { return sum / texts; }
};

Ease ease_of(Audience audience, Language language) {
  Ease all;
  for (auto alert : every_alert()) {
    alert.findings[0].id = "1";
    const auto text = spoken(alert, to(audience, language), test_site()).text;
    all.add(reading_ease(text, language), text);
  }
  return all;
}

// Flesch 1948: 60 to 70 is standard, 70 to 80 fairly easy. Szigriszt Pazos 1993 on the INFLESZ scale (Barrio
// Cantalejo 2008): 55 to 65 is normal, 65 to 80 rather easy. Both scales from memory.
TEST(ReadingEase, AHomeownersTextsAreEasy) {
  for (Language language : kLanguages) {
    const Ease ease = ease_of(Audience::homeowner, language);
    RecordProperty(std::string("mean_") + std::string(language_name(language)), std::to_string(ease.mean()));
    fmt::print("homeowner {}: mean {:.1f}, lowest {:.1f}\n", language_name(language), ease.mean(),
               ease.worst);
    EXPECT_GE(ease.worst, 70) << ease.worst_text;
    EXPECT_GE(ease.mean(), 80);
  }
}

TEST(ReadingEase, ATechniciansTextsCanBeReadAtAGlance) {
  for (Language language : kLanguages) {
    const Ease ease = ease_of(Audience::technician, language);
    fmt::print("technician {}: mean {:.1f}, lowest {:.1f}\n", language_name(language), ease.mean(),
               ease.worst);
    EXPECT_GE(ease.mean(), 60) << ease.worst_text;
  }
}

TEST(Technician, SeesTheDrawInALine) {
  Alert alert = every_alert()[0];
  alert.findings[0] = test_finding(4);
  const auto text = spoken(alert, to(Audience::technician, Language::english), test_site()).text;
  EXPECT_THAT(text, HasSubstr("Draw, last 4 runs: ▇█▇▁ 0.230 to 0.002 A.\n"));
  const auto spanish = spoken(alert, to(Audience::technician, Language::spanish), test_site()).text;
  EXPECT_THAT(spanish, HasSubstr("Consumo, últimos 4 riegos: ▇█▇▁ de 0.230 a 0.002 A.\n"));
  EXPECT_THAT(spanish, HasSubstr("Dónde: entre la caja A y la caja B (61 %).\n"));
  EXPECT_THAT(spanish, HasSubstr("Siguiente prueba: Encienda la zona 4."));
  EXPECT_THAT(spanish, Not(HasSubstr("Zone 4 took no current"))) << "the diagnosis sums up in English";
}

TEST(Technician, SpanishEndsTooAndSaysWhy) {
  Alert alert = every_alert()[0];
  alert.kind = AlertKind::closed;
  alert.findings = {ended(test_finding(4), at_hours(5), "draws normally again")};
  const auto said = spoken(alert, to(Audience::technician, Language::spanish), test_site());
  EXPECT_EQ(said.subject, "[Juniper Row 12] Terminó: Zona 4 (East hedge): cable, empalme o bobina cortados");
  EXPECT_THAT(said.text, HasSubstr("Motivo: consume otra vez lo normal.\n"));
}

// A finding whose repair was looked at: with its end, or with the news that it did not hold.
Alert of_a_repair(bool proved, std::vector<int> zones = {4}) {
  Finding f = test_finding(4);
  f.zones = std::move(zones);
  RepairProof proof;
  proof.marked = at_hours(4);
  proof.proved = proved;
  f.repair = proof;
  if (proved) f = ended(f, at_hours(5), "repaired: Zone 4 draws 0.230 A and should draw 0.214 to 0.248 A");
  Alert alert;
  alert.id = f.id + ".2";
  alert.kind = proved ? AlertKind::closed : AlertKind::worse;
  alert.site_name = "Juniper Row 12";
  alert.raised = at_hours(5);
  alert.findings = {f};
  alert.details = {{}};
  return alert;
}

std::string first_line_of(const Alert& alert, Audience audience, Language language) {
  const auto text = spoken(alert, to(audience, language), test_site()).text;
  return text.substr(0, text.find('\n'));
}

TEST(Repair, ThatHeldIsSaidAtTheEnd) {
  const Alert one = of_a_repair(true), two = of_a_repair(true, {4, 7});
  EXPECT_EQ(first_line_of(one, Audience::technician, Language::english),
            "Repaired: Zone 4 (East hedge): it draws as it should again.");
  EXPECT_EQ(first_line_of(two, Audience::technician, Language::english),
            "Repaired: Zones 4 (East hedge) and 7: they draw as they should again.");
  EXPECT_EQ(first_line_of(one, Audience::technician, Language::spanish),
            "Reparado: Zona 4 (East hedge): consume otra vez lo que debe.");
  EXPECT_EQ(first_line_of(two, Audience::technician, Language::spanish),
            "Reparado: Zonas 4 (East hedge) y 7: consumen otra vez lo que deben.");
  EXPECT_EQ(first_line_of(one, Audience::homeowner, Language::english),
            "Repaired: East hedge (zone 4). All works as it should again.");
  EXPECT_EQ(first_line_of(one, Audience::homeowner, Language::spanish),
            "Arreglado: East hedge (zona 4). Todo funciona otra vez como debe.");
}

TEST(Repair, ThatHeldIsExplained) {
  const auto why = [](Language language) {
    return spoken(of_a_repair(true), to(Audience::technician, language), test_site()).text;
  };
  EXPECT_THAT(why(Language::english),
              HasSubstr("Why: repaired: Zone 4 draws 0.230 A and should draw 0.214 to 0.248 A.\n"));
  EXPECT_THAT(why(Language::spanish), HasSubstr("Motivo: reparada: consume otra vez lo normal.\n"));
}

TEST(Repair, ThatDidNotHoldIsSaidFirst) {
  const Alert alert = of_a_repair(false);
  EXPECT_THAT(first_line_of(alert, Audience::technician, Language::english),
              testing::StartsWith("Not repaired: Zone 4 (East hedge) is not watering"));
  EXPECT_THAT(first_line_of(alert, Audience::technician, Language::spanish),
              testing::StartsWith("Sin reparar: Zona 4 (East hedge) no riega"));
  EXPECT_EQ(first_line_of(alert, Audience::homeowner, Language::english),
            "The repair did not work. East hedge (zone 4) is not being watered.");
  EXPECT_EQ(first_line_of(alert, Audience::homeowner, Language::spanish),
            "El arreglo no funcionó. East hedge (zona 4) no recibe agua.");
}

TEST(Repair, IsToldToAHomeownerInPlainWords) {
  for (Language language : kLanguages)
    for (bool proved : {true, false}) {
      const Spoken said = spoken(of_a_repair(proved), to(Audience::homeowner, language), test_site());
      expect_plain(said);
      EXPECT_GE(reading_ease(said.text, language), 70) << said.text;
    }
}

TEST(Contractor, SeesAllSitesTheMostPressingFirst) {
  std::vector<Alert> alerts(3, every_alert()[0]);
  const char* sites[] = {"Birch Lane", "Elm Park", "Oak Court"};
  for (int i = 0; i < 3; ++i) {
    alerts[i].site = sites[i];
    alerts[i].site_name = sites[i];
    alerts[i].findings = {test_finding(4 + i)};
  }
  alerts[0].findings[0].severity = Severity::watch;
  alerts[1].findings[0].severity = Severity::urgent;
  alerts[2].findings[0].severity = Severity::urgent;
  alerts[2].findings[0].zones = {6, 7};
  const Spoken said = contractor_digest(alerts, to(Audience::contractor, Language::english), test_site());
  EXPECT_EQ(said.subject, "3 sites: 2 urgent, 0 soon, 1 to watch");
  const auto oak = said.text.find("Oak Court"), elm = said.text.find("Elm Park"),
             birch = said.text.find("Birch Lane");
  EXPECT_LT(oak, elm) << said.text;
  EXPECT_LT(elm, birch) << said.text;
  EXPECT_THAT(said.text,
              HasSubstr("urgent | Elm Park | Zone 5 | broken wire, splice or coil | 98 % | A to B | since "));
}

TEST(Sparkline, IsADrawingThatSaysWhatItShows) {
  const AlertDraw draw{4, {0.23, 0.12, 0.0}, 0.21, 0.25};
  EXPECT_EQ(sparkline_text(draw), "▇▄▁");
  const std::string svg = sparkline_svg(draw, "Zone 4 <b> & more");
  EXPECT_THAT(svg, HasSubstr("<title>Zone 4 &lt;b&gt; &amp; more</title>"));
  EXPECT_THAT(svg, HasSubstr("points=\"5.0,8.7 120.0,28.9 235.0,51.0\""));
  EXPECT_EQ(sparkline_svg({4, {}, kNotMeasured, kNotMeasured}, "").find("nan"), std::string::npos);
}

}  // namespace
}  // namespace coilward
