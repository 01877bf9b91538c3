// SPDX-License-Identifier: Apache-2.0
#include "isthmus/serve/guide_page.hpp"

#include <httplib.h>

#include <csignal>
#include <thread>

#include "serve/files.hpp"
#include "serve/gate.hpp"
#include "serve/talk.hpp"

namespace isthmus::serve {
namespace {

constexpr std::size_t kThreads = 24, kMostBody = 512;
constexpr std::chrono::milliseconds kDrain{1000};
constexpr const char* kPolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

// A browser's name for itself: 8 to 64 letters and digits; empty where it is none.
std::string browser_of(const httplib::Request& r) {
  const std::string name = r.get_param_value("browser");
  const bool plain = std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  });
  return plain && name.size() >= 8 && name.size() <= 64 ? name : "";
}

std::size_t number(const std::string& text) {
  std::size_t n = 0;
  for (const char c : text) {
    if (c < '0' || c > '9' || n > 1'000'000'000) return 0;
    n = n * 10 + static_cast<std::size_t>(c - '0');
  }
  return n;
}

bool one_line(const std::string& text) {
  return !text.empty() && std::none_of(text.begin(), text.end(),
                                       [](char c) { return static_cast<unsigned char>(c) < 0x20; });
}

// One browser that listens, until it goes or nothing more will be told.
class Stream {
 public:
  Stream(Talk& talk, std::string browser, std::size_t after)
      : talk_(talk), browser_(std::move(browser)), after_(after) {}

  bool write(httplib::DataSink& sink) {
    std::string text;
    if (!begun_) {
      drives_ = talk_.drives(browser_);
      // What was told before it came is no news: no sounds.
      text = "retry: 500\nevent: known\ndata: " + std::to_string(talk_.told()) + "\n\n" + role();
      begun_ = true;
    } else {
      const Talk::News news = talk_.news(browser_, after_, drives_);
      if (news.drives != drives_) {
        drives_ = news.drives;
        text += role();
      }
      std::size_t n = news.after;
      for (const std::string& line : news.lines)
        text += "id: " + std::to_string(++n) + "\ndata: " + line + "\n\n";
      after_ = n;
      if (news.ended && news.lines.empty()) {
        sink.done();
        return true;
      }
      if (text.empty()) text = ":\n\n";  // notices who has gone
    }
    return sink.write(text.data(), text.size());
  }

 private:
  [[nodiscard]] std::string role() const {
    return std::string("event: role\ndata: ") + (drives_ ? "drives" : "watches") + "\n\n";
  }
  Talk& talk_;
  std::string browser_;
  std::size_t after_;
  bool begun_{false}, drives_{false};
};

// What is started while it lives gets no signals.
class NoSignals {
 public:
  NoSignals() {
    sigset_t all;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before_);
  }
  ~NoSignals() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
  NoSignals(const NoSignals&) = delete;
  NoSignals& operator=(const NoSignals&) = delete;

 private:
  sigset_t before_{};
};

class Server final : public GuidePage {
 public:
  Server(std::string board, std::string token) : board_(std::move(board)) {
    gate_.token = std::move(token);
  }
  ~Server() override {
    talk_.drain(kDrain);
    talk_.end();
    server_.stop();
    if (thread_.joinable()) thread_.join();
  }
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  bool start(int port) {
    server_.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
    server_.set_payload_max_length(kMostBody);
    server_.set_tcp_nodelay(true);
    server_.set_keep_alive_timeout(1);  // the end waits for idle connections
    // Another program's listener is not shared, as the library would by itself.
    server_.set_socket_options([](socket_t s) {
      const int yes = 1;
      setsockopt(s, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    });
    const int got = port == 0 ? server_.bind_to_any_port("127.0.0.1")
                    : server_.bind_to_port("127.0.0.1", port) ? port
                                                              : -1;
    if (got <= 0) return false;
    gate_.host = "127.0.0.1:" + std::to_string(got);
    address_ = "http://" + gate_.host + "/" + gate_.token + "/";
    route();
    const NoSignals none;  // they are for the thread that measures
    thread_ = std::thread([this] { server_.listen_after_bind(); });
    while (!server_.is_running()) std::this_thread::yield();
    return true;
  }

  [[nodiscard]] const std::string& address() const override { return address_; }
  void tell(std::string line) override { talk_.tell(std::move(line)); }
  std::optional<std::string> heard() override { return talk_.heard(); }

 private:
  void route() {
    using httplib::Request, httplib::Response;
    using Handled = httplib::Server::HandlerResponse;
    server_.set_default_headers({{"Content-Security-Policy", kPolicy},
                                 {"X-Content-Type-Options", "nosniff"},
                                 {"Referrer-Policy", "no-referrer"},
                                 {"Cache-Control", "no-store"},
                                 {"Cross-Origin-Opener-Policy", "same-origin"},
                                 {"Cross-Origin-Resource-Policy", "same-origin"}});
    server_.set_pre_routing_handler([this](const Request& request, Response& response) {
      const Let let = let_in(gate_, request);
      if (let == Let::in) return Handled::Unhandled;
      response.status = let == Let::forbidden ? 403 : 404;
      response.headers.clear();
      return Handled::Handled;
    });
    const std::string base = "/" + gate_.token + "/";
    for (const File& file : page_files()) {
      server_.Get(base + std::string(file.name), [&file](const Request&, Response& response) {
        response.set_content(file.text.data(), file.text.size(), file.type);
      });
    }
    server_.Get(base + "board.json", [this](const Request&, Response& response) {
      response.set_content(board_, "application/json");
    });
    server_.Get(base + "events", [this](const Request& q, Response& r) { listen(q, r); });
    server_.Post(base + "answer", [this](const Request& q, Response& r) { answer(q, r); });
  }

  void listen(const httplib::Request& request, httplib::Response& response) {
    const std::string browser = browser_of(request);
    if (browser.empty()) return void(response.status = 400);
    if (!talk_.comes(browser)) return void(response.status = 503);
    const auto stream =
        std::make_shared<Stream>(talk_, browser, number(request.get_header_value("Last-Event-ID")));
    response.set_chunked_content_provider(
        "text/event-stream",
        [stream](std::size_t, httplib::DataSink& sink) { return stream->write(sink); },
        [this, browser](bool) { talk_.goes(browser); });
  }

  void answer(const httplib::Request& request, httplib::Response& response) {
    const std::string browser = browser_of(request);
    if (browser.empty() || !one_line(request.body)) return void(response.status = 400);
    response.status = talk_.answer(browser, request.body) ? 204 : 409;
  }

  std::string board_, address_;
  Gate gate_;
  Talk talk_;
  httplib::Server server_;
  std::thread thread_;
};

}  // namespace

Result<std::unique_ptr<GuidePage>> GuidePage::open(std::string board, int port) {
  std::string token = new_token();
  if (token.empty())
    return Problem{"",
                   0,
                   0,
                   "SRV-002",
                   "the system gives no random number for the page",
                   "guide without it: --no-page",
                   "",
                   Cause::link};
  auto server = std::make_unique<Server>(std::move(board), std::move(token));
  if (!server->start(port))
    return Problem{"",
                   0,
                   0,
                   "SRV-001",
                   port == 0 ? std::string("no port can be had for the page")
                             : "port " + std::to_string(port) + " cannot be had for the page",
                   port == 0 ? "guide without it: --no-page"
                             : "another program uses it: leave --port out and a free one is taken",
                   "",
                   Cause::input};
  return std::unique_ptr<GuidePage>(std::move(server));
}

}  // namespace isthmus::serve
