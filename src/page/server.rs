//! The local server: listens on the loopback address, and enforces limits on requests.
//!
//! A request must name this address as its host, and must not come from another page. The time and the size of its
//! header and body are limited. A few answers at a time are computed on separate threads, each with a time limit. A
//! panic gives status 500.

use super::reply::{Reply, asset, respond};
use crate::trouble::{Stop, Trouble};
use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::Response;
use axum::routing::get;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::timeout;

/// Maximum size of a request body, bytes.
const LARGEST_BODY: usize = 256 << 10;
/// Maximum total size of the logs in a request, bytes.
const LARGEST_LOGS: usize = 64 << 20;
/// Maximum number of concurrent requests with logs.
const LOGS: usize = 2;
/// Time limit for receiving logs.
const TO_READ_LOGS: Duration = Duration::from_secs(60);
/// Maximum number of connections; further ones wait to be accepted.
const CONNECTIONS: usize = 2_000;
/// Lengths of the queues for light, quick and other requests; further ones are refused because the server is busy. Longer
/// queues would only make them wait before they are refused.
const WAITING: [usize; 3] = [400, 150, 60];
/// Maximum waiting time in the queue.
const TO_BE_SEATED: Duration = Duration::from_secs(12);
/// Quick questions; they have their own queue and do not wait for the others.
const QUICK: &[&str] = &["", "speed", "why", "sweep", "points"];
/// Time limit for receiving the header of a request, and again for its body.
const TO_READ: Duration = Duration::from_secs(10);
/// Time limit for computing an answer.
const TO_ANSWER: Duration = Duration::from_secs(30);
/// Maximum duration of a connection.
const TO_LIVE: Duration = Duration::from_secs(600);

/// Content security policy: only the page's own style, script, pictures and forms.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
                      form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Serves the page on the given port, or on a free one. Reports the address as soon as it listens, and returns if it
/// can no longer do so.
pub fn serve(port: Option<u16>, ready: &mut dyn FnMut(&str)) -> Result<(), Trouble> {
    let wrong = |e: std::io::Error| {
        Trouble::no_answer(format!("the page cannot be served: {e}"), "a free port")
            .hint("leave out --port to use any free port")
            .at("--port")
    };
    // One thread handles the connections; others compute.
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .max_blocking_threads(16)
        .build()
        .map_err(wrong)?;
    runtime.block_on(async {
        let listener =
            TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port.unwrap_or(0))));
        let listener = listener.await.map_err(wrong)?;
        let port = listener.local_addr().map_err(wrong)?.port();
        ready(&format!("http://127.0.0.1:{port}/"));
        listen(&listener, &router(port)).await;
        Ok(())
    })
}

/// Accepts connections without end.
async fn listen(listener: &TcpListener, router: &Router) {
    let room = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let Ok(seat) = Arc::clone(&room).acquire_owned().await else {
            return;
        };
        let Ok((stream, _)) = listener.accept().await else {
            // There are no free file handles, or a client has gone: keep accepting others.
            tokio::time::sleep(Duration::from_millis(20)).await;
            continue;
        };
        let service = TowerToHyperService::new(router.clone());
        tokio::spawn(async move {
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(TO_READ)
                .max_buf_size(64 << 10)
                .serve_connection(TokioIo::new(stream), service);
            let _ = timeout(TO_LIVE, connection).await;
            drop(seat);
        });
    }
}

/// A queue for questions of one kind: a few are answered at a time, on dedicated threads.
#[derive(Clone)]
struct Lane {
    seats: Arc<Semaphore>,
    waiting: Arc<Semaphore>,
    pool: Option<Arc<rayon::ThreadPool>>,
}

impl Lane {
    fn new(seats: usize, waiting: usize) -> Self {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(seats).build();
        Self {
            seats: Arc::new(Semaphore::new(seats)),
            waiting: Arc::new(Semaphore::new(waiting)),
            // If the dedicated threads cannot be created, the computations use the common ones.
            pool: pool.ok().map(Arc::new),
        }
    }

    /// A permit to compute, if one becomes free before the waiting time ends.
    async fn seat(&self) -> Option<OwnedSemaphorePermit> {
        let _waiting = self.waiting.try_acquire().ok()?;
        let seat = timeout(TO_BE_SEATED, Arc::clone(&self.seats).acquire_owned());
        seat.await.ok()?.ok()
    }
}

/// The queues and permits that limit concurrent work. What is light computes nothing and waits for no question.
#[derive(Clone)]
struct Rooms {
    light: Lane,
    quick: Lane,
    long: Lane,
    logs: Arc<Semaphore>,
}

/// The routes.
fn router(port: u16) -> Router {
    let cores = std::thread::available_parallelism().map_or(2, |n| n.get().min(8));
    let rooms = Rooms {
        light: Lane::new(1, WAITING[0]),
        quick: Lane::new(cores, WAITING[1]),
        long: Lane::new(cores, WAITING[2]),
        logs: Arc::new(Semaphore::new(LOGS)),
    };
    let both = || {
        let rooms = rooms.clone();
        let handler = move |request: Request| handle(request, port, rooms.clone());
        get(handler.clone()).post(handler)
    };
    Router::new()
        .route("/", both())
        .route("/{name}", both())
        .route("/part/{name}", both())
        .route("/download/{name}", both())
        .fallback(both())
}

/// Handles one request.
async fn handle(request: Request, port: u16, rooms: Rooms) -> Response {
    if let Err(words) = allowed(request.headers(), port) {
        return send(Reply::sorry(403, words));
    }
    let path = request.uri().path().to_string();
    if let Some(reply) = asset(&path) {
        return send(reply);
    }
    let mut form = request.uri().query().unwrap_or_default().to_string();
    let mut logs = Bytes::new();
    let mut seat = None;
    if request.method() == Method::POST {
        let with_logs = path
            .strip_prefix("/part")
            .unwrap_or(&path)
            .starts_with("/log")
            || path.starts_with("/download/log.");
        let read = if with_logs && is_of_kind(&request, "text/csv") {
            // The permit is taken before the first byte is read.
            seat = rooms.logs.acquire_owned().await.ok();
            let largest = (LARGEST_LOGS, "logs may have up to 64 MB in total");
            body(request, largest, TO_READ_LOGS).await.map(|b| logs = b)
        } else if is_of_kind(&request, "application/x-www-form-urlencoded") {
            let largest = (
                LARGEST_BODY,
                "text entered in the form may have up to 250 kB",
            );
            let read = body(request, largest, TO_READ).await;
            read.and_then(|bytes| {
                let text = String::from_utf8(bytes.into());
                form = text.map_err(|_| Reply::sorry(400, "The form is not UTF-8 text."))?;
                Ok(())
            })
        } else {
            Err(Reply::sorry(415, "Only form data are accepted here."))
        };
        if let Err(reply) = read {
            return send(reply);
        }
    }
    let name = path.trim_start_matches("/part").trim_start_matches('/');
    let lane = if !is_computed(name) || (name == "log" && logs.is_empty() && !has_log(&form)) {
        rooms.light
    } else if QUICK.contains(&name)
        || name.starts_with("download/machine.")
        || name.starts_with("download/sheet.")
    {
        rooms.quick
    } else {
        rooms.long
    };
    let reply = computed(lane, move |stop| {
        let _seat = seat;
        respond(&path, &form, &logs, stop)
    });
    send(reply.await)
}

/// Whether anything is computed for a path. The first visit and unknown paths wait for no question.
fn is_computed(name: &str) -> bool {
    name.is_empty() || name.starts_with("download/") || super::find(name).is_some()
}

/// Whether a form holds the pasted text of a log.
fn has_log(form: &str) -> bool {
    let pairs = form.split('&').filter_map(|pair| pair.split_once('='));
    pairs
        .into_iter()
        .any(|(name, text)| name.ends_with("_text") && name != "book_text" && !text.is_empty())
}

/// Whether a request comes from this page. If the host is foreign, another name resolves to this computer; if the
/// origin is foreign, another page submits a form here or embeds this page.
fn allowed(headers: &HeaderMap, port: u16) -> Result<(), &'static str> {
    let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
    let mut named = headers.get_all(header::HOST).iter();
    let host = named.next().and_then(|h| h.to_str().ok());
    if named.next().is_some() || !host.is_some_and(|h| hosts.iter().any(|own| own == h)) {
        return Err("This page answers only at its own address.");
    }
    let foreign = |origin: &HeaderValue| {
        let origin = origin.to_str().ok().and_then(|o| o.strip_prefix("http://"));
        !origin.is_some_and(|o| hosts.iter().any(|own| own == o))
    };
    let other_site = |site: &HeaderValue| site != "same-origin" && site != "none";
    if headers.get_all(header::ORIGIN).iter().any(foreign)
        || headers.get_all("sec-fetch-site").iter().any(other_site)
    {
        return Err(
            "This page accepts nothing from other pages. Enter its address in the browser instead.",
        );
    }
    Ok(())
}

/// Whether a request states a given content type.
fn is_of_kind(request: &Request, kind: &str) -> bool {
    let said = request.headers().get(header::CONTENT_TYPE);
    let said = said.and_then(|k| k.to_str().ok()).unwrap_or_default();
    said.to_ascii_lowercase().starts_with(kind)
}

/// Reads the body of a request in chunks up to a maximum size; `words` is the message if it is larger.
async fn body(
    request: Request,
    (largest, words): (usize, &str),
    within: Duration,
) -> Result<Bytes, Reply> {
    let too_large = || Reply::sorry(413, &format!("Too large: {words}."));
    let said = request.headers().get(header::CONTENT_LENGTH);
    let said = said.and_then(|l| l.to_str().ok()?.parse().ok());
    if said > Some(largest) {
        return Err(too_large());
    }
    match timeout(within, to_bytes(request.into_body(), largest)).await {
        Ok(Ok(bytes)) => Ok(bytes),
        Ok(Err(_)) => Err(too_large()),
        Err(_) => Err(Reply::sorry(
            408,
            "The request did not arrive in full. Please try again.",
        )),
    }
}

/// Cancels its computation when dropped: the client has disconnected, or the time limit was reached.
struct Waiting(Stop);

impl Drop for Waiting {
    fn drop(&mut self) {
        self.0.stop();
    }
}

/// Computes on another thread as soon as a permit is free. The permit is returned when the computation ends, not when
/// the client disconnects, so that long computations cannot accumulate.
async fn computed(lane: Lane, work: impl FnOnce(&Stop) -> Reply + Send + 'static) -> Reply {
    let stop = Stop::able();
    let _waiting = Waiting(stop.clone());
    let Some(seat) = lane.seat().await else {
        return Reply::sorry(503, "The server is busy. Please try again in a moment.");
    };
    let task = tokio::task::spawn_blocking(move || {
        let _seat = seat;
        match lane.pool {
            Some(pool) => pool.install(|| work(&stop)),
            None => work(&stop),
        }
    });
    match timeout(TO_ANSWER, task).await {
        Ok(Ok(reply)) => reply,
        Ok(Err(_)) => Reply::sorry(
            500,
            "The computation failed. The page still works; please report the input that caused this.",
        ),
        Err(_) => Reply::sorry(
            503,
            "The computation took too long. Try again, or ask for less at once.",
        ),
    }
}

/// The HTTP response for a reply, with the headers that all have in common.
fn send(reply: Reply) -> Response {
    let mut response = Response::new(Body::from(reply.body));
    *response.status_mut() =
        StatusCode::from_u16(reply.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_TYPE, reply.kind),
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        // Not `no-referrer`: a browser would then send `Origin: null` with the page's own forms.
        (header::REFERRER_POLICY, "same-origin"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    for (name, value) in [
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        (
            "permissions-policy",
            "camera=(), geolocation=(), microphone=()",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if reply.status == 503 {
        headers.insert(header::RETRY_AFTER, HeaderValue::from_static("2"));
    }
    let file = reply
        .file
        .map(|name| format!("attachment; filename=\"{name}\""));
    if let Some(Ok(file)) = file.map(|f| HeaderValue::from_str(&f)) {
        headers.insert(header::CONTENT_DISPOSITION, file);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wait<T>(future: impl Future<Output = T>) -> T {
        tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap()
            .block_on(future)
    }

    #[test]
    fn a_panic_answers_and_gives_its_room_back() {
        let lane = Lane::new(1, 3);
        for _ in 0..3 {
            let reply = wait(computed(lane.clone(), |_| panic!("on purpose")));
            assert_eq!(reply.status, 500);
        }
        let fine = wait(computed(lane, |_| Reply::sorry(404, "fine")));
        assert_eq!(fine.status, 404);
    }

    #[test]
    fn work_that_nobody_waits_for_stops() {
        let lane = Lane::new(1, 3);
        wait(async {
            let long = computed(lane.clone(), |stop| {
                while stop.check().is_ok() {
                    std::thread::sleep(Duration::from_millis(1));
                }
                Reply::sorry(404, "stopped")
            });
            // The client disconnects.
            assert!(timeout(Duration::from_millis(50), long).await.is_err());
            let after = timeout(Duration::from_secs(5), lane.seats.acquire()).await;
            assert!(after.is_ok(), "the work goes on");
        });
    }

    #[test]
    fn when_too_many_wait_the_next_is_told_so() {
        let lane = Lane::new(1, 3);
        wait(async {
            let _all = lane.waiting.acquire_many(3).await;
            let reply = computed(lane.clone(), |_| Reply::sorry(404, "fine")).await;
            assert_eq!(reply.status, 503);
            assert!(send(reply).headers().contains_key(header::RETRY_AFTER));
        });
    }

    #[test]
    fn only_this_page_may_ask() {
        let headers = |pairs: &[(&'static str, &'static str)]| {
            pairs
                .iter()
                .map(|(n, v)| (n.parse().unwrap(), HeaderValue::from_static(v)))
                .collect::<HeaderMap>()
        };
        for (pairs, fine) in [
            (&[("host", "127.0.0.1:80")][..], true),
            (
                &[("host", "localhost:80"), ("origin", "http://localhost:80")],
                true,
            ),
            (
                &[("host", "127.0.0.1:80"), ("sec-fetch-site", "same-origin")],
                true,
            ),
            (
                &[("host", "127.0.0.1:80"), ("sec-fetch-site", "cross-site")],
                false,
            ),
            (&[("host", "127.0.0.1:81")], false),
            (&[("host", "127.0.0.1")], false),
            (&[("host", "127.0.0.1:80.evil.example")], false),
            (&[("host", "evil.example:80")], false),
            (&[], false),
            (&[("host", "127.0.0.1:80"), ("origin", "null")], false),
            (
                &[("host", "127.0.0.1:80"), ("origin", "https://127.0.0.1:80")],
                false,
            ),
            (
                &[("host", "127.0.0.1:80"), ("origin", "http://evil.example")],
                false,
            ),
        ] {
            assert_eq!(allowed(&headers(pairs), 80).is_ok(), fine, "{pairs:?}");
        }
    }
}
