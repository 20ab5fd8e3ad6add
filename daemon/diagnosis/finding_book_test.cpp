// Findings that turn out to be one fault.
#include "daemon/diagnosis/finding_book.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

const auto kSomeTime = *parse_rfc3339("2026-05-04T05:00:00Z");

Claim claim_of(std::string key, Fault fault, std::vector<int> zones) {
  Claim claim;
  claim.subject = key.substr(0, key.find('/'));
  claim.key = std::move(key);
  claim.content.fault = fault;
  claim.content.zones = std::move(zones);
  claim.content.probability = 0.9;
  return claim;
}

bool never(const std::vector<int>&) { return false; }

struct Book : testing::Test {
  FindingBook book{[](const Finding&) {}};
};

TEST_F(Book, OneZoneThenAllOfThemIsOneFinding) {
  book.conclude({claim_of("z1/open_circuit", Fault::open_circuit, {1})}, kSomeTime, never);
  const std::string id = book.open().front().id;
  book.conclude({claim_of("supply/supply_lost", Fault::supply_lost, {1, 2})}, kSomeTime, never);
  ASSERT_EQ(book.open().size(), 1u);
  EXPECT_EQ(book.open().front().fault, Fault::supply_lost);
  EXPECT_EQ(book.open().front().id, id);
}

// The master output is on first: its dead coil is the first sign of a dead supply.
TEST_F(Book, WhatTakesTheMasterOutputToo) {
  book.conclude({claim_of("master/open_circuit", Fault::open_circuit, {kMasterZone})}, kSomeTime, never);
  Claim lost = claim_of("supply/supply_lost", Fault::supply_lost, {1, 2});
  lost.master = true;
  book.conclude({lost}, kSomeTime, never);
  ASSERT_EQ(book.open().size(), 1u);
  EXPECT_EQ(book.open().front().fault, Fault::supply_lost);
  EXPECT_EQ(book.open().front().zones, (std::vector{1, 2}));
}

TEST_F(Book, AnotherZonesFaultIsAFindingOfItsOwn) {
  book.conclude({claim_of("z1/open_circuit", Fault::open_circuit, {1})}, kSomeTime, never);
  book.conclude({claim_of("z1/open_circuit", Fault::open_circuit, {1}),
                 claim_of("z3/open_circuit", Fault::open_circuit, {3})},
                kSomeTime, never);
  EXPECT_EQ(book.open().size(), 2u);
}

}  // namespace
}  // namespace coilward
