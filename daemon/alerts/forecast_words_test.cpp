// How long a corroding splice will still do, in the words of each.
#include <gmock/gmock.h>

#include "daemon/alerts/every_message.h"
#include "daemon/alerts/reading_ease.h"

namespace coilward {
namespace {

using testing::HasSubstr;
using testing::Not;

UtcTime in_days(double days) { return at_hours(24 * days); }

Alert corroding(std::vector<int> zones = {4}) {
  Finding f = test_finding(4, zones.size() > 1 ? Fault::common_high_resistance : Fault::high_resistance);
  f.zones = std::move(zones);
  f.severity = Severity::soon;
  f.forecast = LiftForecast{4, {in_days(14), in_days(20), in_days(30)}, std::nullopt, 0.884, 31};
  Alert alert;
  alert.id = f.id + ".1";
  alert.kind = AlertKind::opened;
  alert.severity = Severity::soon;
  alert.site_name = "Juniper Row 12";
  alert.raised = test_start();
  alert.findings = {f};
  alert.details = {{}};
  return alert;
}

std::string told(const Alert& alert, Audience audience, Language language = Language::english) {
  return spoken(alert, to(audience, language), test_site()).text;
}

TEST(ForecastWords, ATechnicianHearsWhenAndHowSure) {
  Alert alert = corroding();
  EXPECT_THAT(
      told(alert, Audience::technician),
      HasSubstr("Forecast: if it goes on like this, zone 4 no longer opens from about 24 May on, between "
                "18 May and 3 Jun. It takes 88 % of its normal draw now.\n"));
  EXPECT_THAT(
      told(alert, Audience::technician, Language::spanish),
      HasSubstr("Pronóstico: si sigue así, la zona 4 ya no abrirá desde cerca del 24 de may, entre el 18 "
                "de may y el 3 de jun. Hoy consume 88 % de lo normal.\n"));
  alert.findings[0].forecast->hold = ForecastTime{in_days(60), in_days(80), in_days(100)};
  EXPECT_THAT(told(alert, Audience::technician),
              HasSubstr(" It no longer stays open from about 23 Jul on.\n"));
  EXPECT_THAT(told(alert, Audience::technician, Language::spanish),
              HasSubstr(" Ya no quedará abierta desde cerca del 23 de jul.\n"));
}

TEST(ForecastWords, OfACommonNameTheZoneThatFailsFirst) {
  EXPECT_THAT(told(corroding({3, 4, 5}), Audience::technician),
              HasSubstr("zone 4 is the first that no longer opens, from about 24 May on"));
  EXPECT_THAT(told(corroding({3, 4, 5}), Audience::technician, Language::spanish),
              HasSubstr("la zona 4 será la primera que ya no abre, desde cerca del 24 de may"));
}

TEST(ForecastWords, AContractorSeesThemInTheLine) {
  EXPECT_THAT(
      told(corroding(), Audience::contractor),
      HasSubstr("| bad splice in the zone wire | 98 % | A to B | zone 4 opens until about 24 May | since "));
  EXPECT_THAT(told(corroding(), Audience::contractor, Language::spanish),
              HasSubstr("| la zona 4 abre hasta cerca del 24 de may | desde "));
}

TEST(ForecastWords, AHomeownerHearsWeeksInPlainWords) {
  Alert alert = corroding();
  EXPECT_THAT(
      told(alert, Audience::homeowner),
      HasSubstr("One day this part will stop.\nIf it goes on like this, that will be in about 3 weeks.\n"));
  EXPECT_THAT(told(alert, Audience::homeowner, Language::spanish),
              HasSubstr("\nSi sigue así, será en unas 3 semanas.\n"));
  for (Language language : kLanguages) {
    expect_plain(spoken(alert, to(Audience::homeowner, language), test_site()));
    EXPECT_GE(reading_ease(told(alert, Audience::homeowner, language), language), 70);
  }
  alert.raised = in_days(15);
  EXPECT_THAT(told(alert, Audience::homeowner), HasSubstr("that will be within two weeks.\n"));
}

TEST(ForecastWords, AreLeftOutWhereNothingIsForecast) {
  Alert alert = corroding();
  alert.findings[0].forecast.reset();
  for (Audience audience : {Audience::technician, Audience::contractor, Audience::homeowner}) {
    EXPECT_THAT(told(alert, audience), Not(HasSubstr("goes on like this")));
    EXPECT_THAT(told(alert, audience), Not(HasSubstr("opens until")));
    EXPECT_THAT(told(alert, audience, Language::spanish), Not(HasSubstr("sigue así")));
    EXPECT_THAT(told(alert, audience, Language::spanish), Not(HasSubstr("abre hasta")));
  }
}

}  // namespace
}  // namespace coilward
