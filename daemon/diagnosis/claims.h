// posterior -> claims: which of its probabilities are worth saying, and how.
#pragma once

#include "daemon/diagnosis/finding_book.h"
#include "daemon/diagnosis/posterior.h"

namespace coilward {

struct ClaimContext {
  const SiteElectrics& site;
  const Config& config;
  const std::vector<ZoneFilter>& filters;
};

std::vector<Claim> claims_of(const SitePosterior& posterior, const ClaimContext& context);

// A claim with summary, severity and id parts filled in; `zones` are zone numbers.
Claim make_claim(std::string key, std::string subject, Fault fault, std::vector<int> zones,
                 double probability, double strength, const std::string& detail = "");

}  // namespace coilward
