// The page over TLS, with certificates that change while it is served.
#include <gmock/gmock.h>
#include <openssl/ssl.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl.hpp>
#include <boost/asio/write.hpp>
#include <fstream>

#include "daemon/web/http_server_fixture.h"
#include "daemon/web/tls_files.h"
#include "tests/support/certificate.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

// A TLS client that waits for each step.
class TlsClient {
 public:
  explicit TlsClient(std::uint16_t port, int newest = TLS1_3_VERSION) {
    SSL_set_max_proto_version(stream_.native_handle(), newest);
    stream_.lowest_layer().connect({boost::asio::ip::address_v4::loopback(), port});
    stream_.handshake(boost::asio::ssl::stream_base::client, error_);
  }
  bool greeted() const { return !error_; }
  long serial() {
    X509* certificate = SSL_get1_peer_certificate(stream_.native_handle());
    const long serial = certificate ? ASN1_INTEGER_get(X509_get0_serialNumber(certificate)) : -1;
    X509_free(certificate);
    return serial;
  }
  void send(const std::string& text) { boost::asio::write(stream_, boost::asio::buffer(text), error_); }
  // Until `stop` was seen; without it to the end, which must have been said.
  std::string receive(const std::string& stop = "") {
    std::string text;
    char block[4096];
    boost::system::error_code error;
    while (!error && (stop.empty() || text.find(stop) == std::string::npos))
      text.append(block, stream_.read_some(boost::asio::buffer(block), error));
    if (stop.empty()) {
      EXPECT_EQ(error, boost::asio::error::eof) << error.message();
    }
    return text;
  }
  std::string ask(const std::string& request) {
    send(request);
    return receive();
  }

 private:
  boost::asio::io_context io_;
  boost::asio::ssl::context context_{boost::asio::ssl::context::tls_client};
  boost::asio::ssl::stream<boost::asio::ip::tcp::socket> stream_{io_, context_};
  boost::system::error_code error_;
};

class Tls : public HttpServerTest {
 protected:
  void SetUp() override {
    make_certificate(certificate, key, 101);
    auto loaded = TlsFiles::load(certificate, key);
    ASSERT_TRUE(loaded) << loaded.error().what;
    files_ = std::move(*loaded);
    HttpOptions options;
    options.limits = limits();
    options.tls = files_.get();
    start(options);
  }
  virtual HttpLimits limits() const { return {}; }
  bool look() {
    return on_core([&] { return files_->look(); });
  }
  std::string trouble() {
    return on_core([&] { return files_->trouble(); });
  }
  long serial() { return TlsClient(server_->port()).serial(); }

  const std::string certificate = logins_.directory / "page.pem", key = logins_.directory / "page.key";
  std::unique_ptr<TlsFiles> files_;
};

TEST_F(Tls, the_page_is_served_and_its_end_is_said) {
  TlsClient client(server_->port());
  ASSERT_TRUE(client.greeted());
  EXPECT_EQ(client.serial(), 101);
  const std::string answer = client.ask(get("/api/v1/zones"));
  EXPECT_THAT(answer, StartsWith("HTTP/1.1 200"));
  EXPECT_THAT(answer, HasSubstr("\"hold_amps\":0.231"));
  TlsClient kept(server_->port());
  for (int i = 0; i < 3; ++i) {
    kept.send(get("/healthz", ""));
    EXPECT_THAT(kept.receive("stages"), HasSubstr("200 OK"));
  }
  EXPECT_THAT(unix_client().ask(get("/healthz")), StartsWith("HTTP/1.1 200"));
}

TEST_F(Tls, what_is_old_or_no_tls_is_refused) {
  EXPECT_FALSE(TlsClient(server_->port(), TLS1_1_VERSION).greeted());
  EXPECT_TRUE(TlsClient(server_->port(), TLS1_2_VERSION).greeted());
  EXPECT_THAT(tcp_client().ask("SSH-2.0-nobody\r\n\r\n"), StartsWith("HTTP/1.1 400"));
  EXPECT_TRUE(becomes(0));
}

TEST_F(Tls, who_asks_without_is_sent_to_where_it_is_spoken) {
  const std::string sent = tcp_client().ask(get("/zone/4?since=7d"));
  EXPECT_THAT(
      sent, AllOf(StartsWith("HTTP/1.1 308"), HasSubstr("Location: https://localhost/zone/4?since=7d\r\n")));
  EXPECT_THAT(sent, testing::Not(HasSubstr("Set-Cookie")));
  EXPECT_THAT(tcp_client().ask("POST /pause HTTP/1.1\r\nHost: localhost\r\nContent-Length: 6\r\n\r\nfor=2h"),
              AllOf(StartsWith("HTTP/1.1 400"), HasSubstr("https://")));
  EXPECT_THAT(tcp_client().ask("GET / HTTP/1.1\r\nHost: a/b\r\n\r\n"), StartsWith("HTTP/1.1 400"));
  EXPECT_EQ(on_core([&] { return site_.paused_zone; }), -2);
}

TEST_F(Tls, a_stream_of_events_goes_through_it) {
  TlsClient client(server_->port());
  client.send(get("/events", ""));
  EXPECT_THAT(client.receive("event: version"), HasSubstr("event: zone"));
}

TEST_F(Tls, new_files_count_for_new_connections) {
  TlsClient before(server_->port());
  EXPECT_FALSE(look()) << "nothing has changed";
  make_certificate(certificate, key, 102);
  EXPECT_TRUE(look());
  EXPECT_EQ(serial(), 102);
  EXPECT_THAT(before.ask(get("/healthz")), StartsWith("HTTP/1.1 200")) << "an old connection goes on";
  EXPECT_EQ(before.serial(), 101);
}

TEST_F(Tls, a_pair_that_is_half_written_leaves_the_old_one_in_force) {
  const std::string other = logins_.directory / "other.pem", other_key = logins_.directory / "other.key";
  make_certificate(other, other_key, 103);
  std::filesystem::copy_file(other, certificate, std::filesystem::copy_options::overwrite_existing);
  EXPECT_FALSE(look());
  EXPECT_THAT(trouble(), HasSubstr("page.key"));
  EXPECT_EQ(serial(), 101);
  std::ofstream(certificate) << "-----BEGIN CERTIFICATE-----\nMIIB";
  EXPECT_FALSE(look());
  EXPECT_EQ(serial(), 101);
  std::filesystem::remove(certificate);
  EXPECT_FALSE(look());
  EXPECT_EQ(serial(), 101);
  std::filesystem::rename(other, certificate);
  std::filesystem::rename(other_key, key);
  EXPECT_TRUE(look());
  EXPECT_EQ(trouble(), "");
  EXPECT_EQ(serial(), 103);
}

// By the server's own timer, without anybody asking for it.
TEST_F(Tls, new_files_are_found_by_themselves) {
  make_certificate(certificate, key, 104);
  EXPECT_TRUE(becomes_true([&] { return serial() == 104; }));
}

// As much of a greeting as never becomes one: a handshake record that announces more than it holds.
constexpr std::string_view kHalfGreeting("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11);

TEST_F(Tls, many_that_never_finish_the_greeting_keep_nobody_out) {
  std::vector<Client> silent;
  for (int i = 0; i < 200; ++i) {
    silent.push_back(tcp_client());
    if (i % 2) silent.back().send(kHalfGreeting);
  }
  EXPECT_THAT(TlsClient(server_->port()).ask(get("/healthz")), StartsWith("HTTP/1.1 200"));
  EXPECT_LE(on_core([&] { return server_->connections(); }), HttpLimits{}.per_address);
}

class HurriedTls : public Tls {
 protected:
  HttpLimits limits() const override {
    HttpLimits quick;
    quick.header = quick.body = quick.idle = std::chrono::milliseconds{300};
    return quick;
  }
};

TEST_F(HurriedTls, each_step_has_its_limit) {
  Client silent = tcp_client(), half = tcp_client(), plain = tcp_client();
  half.send(kHalfGreeting);
  plain.send("GET / HTTP/1.1\r\nHost:");
  TlsClient greeted(server_->port()), half_asked(server_->port()), idle(server_->port());
  half_asked.send("GET / HTTP/1.1\r\nHost:");
  idle.send(get("/healthz", ""));
  EXPECT_TRUE(silent.closed_within(std::chrono::seconds{5}));
  EXPECT_TRUE(half.closed_within(std::chrono::seconds{5}));
  EXPECT_TRUE(plain.closed_within(std::chrono::seconds{5}));
  EXPECT_TRUE(becomes(0));
}

TEST(TlsFiles, what_cannot_be_used_is_said_with_its_name) {
  const TemporaryDirectory directory;
  const std::string certificate = directory / "page.pem", key = directory / "page.key";
  EXPECT_THAT(TlsFiles::load(certificate, key).error().what, HasSubstr(certificate));
  make_certificate(certificate, key, 1, 3);
  const auto files = TlsFiles::load(certificate, key);
  ASSERT_TRUE(files);
  const auto left = (*files)->ends() - SystemClock().utc();
  EXPECT_GT(left, std::chrono::hours{71});
  EXPECT_LE(left, std::chrono::hours{72});
  EXPECT_EQ(TlsFiles::load(certificate, certificate).error().cause, Cause::bad_config);
}

}  // namespace
}  // namespace coilward
