//! The page, asked over the network as a browser or an intruder would.

use oilwheel::page::questions;
use oilwheel::quantity::Units;
use oilwheel::question::Values;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{LazyLock, mpsc};
use std::time::{Duration, Instant};

/// The one server that all tests ask.
static SERVER: LazyLock<SocketAddr> = LazyLock::new(|| {
    let (send, receive) = mpsc::channel();
    std::thread::spawn(move || {
        let ready = &mut |address: &str| send.send(address.to_string()).unwrap();
        oilwheel::page::serve(None, ready).unwrap();
    });
    let address = receive.recv_timeout(Duration::from_secs(30)).unwrap();
    address
        .strip_prefix("http://")
        .unwrap()
        .trim_end_matches('/')
        .parse()
        .unwrap()
});

/// What came back.
#[derive(Debug)]
struct Back {
    status: u16,
    head: String,
    body: String,
}

/// Sends bytes and reads all that comes back.
fn raw(bytes: &[u8]) -> Back {
    let mut stream = TcpStream::connect(*SERVER).unwrap();
    stream
        .set_read_timeout(Some(Duration::from_secs(60)))
        .unwrap();
    // A server that refuses may close before all is sent.
    let _ = stream.write_all(bytes);
    let mut all = Vec::new();
    let _ = stream.read_to_end(&mut all);
    let text = String::from_utf8_lossy(&all).into_owned();
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let status = head
        .split(' ')
        .nth(1)
        .and_then(|s| s.parse().ok())
        .unwrap_or(0);
    Back {
        status,
        head: head.to_ascii_lowercase(),
        body: body.to_string(),
    }
}

fn request(method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Back {
    let host = SERVER.to_string();
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    if !headers.iter().any(|(n, _)| *n == "Host") {
        head.push_str(&format!("Host: {host}\r\n"));
    }
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    let mut bytes = head.into_bytes();
    bytes.extend_from_slice(b"\r\n");
    bytes.extend_from_slice(body);
    raw(&bytes)
}

fn get(path: &str) -> Back {
    request("GET", path, &[], b"")
}

const FORM: (&str, &str) = ("Content-Type", "application/x-www-form-urlencoded");

fn post(path: &str, body: &[u8]) -> Back {
    let length = body.len().to_string();
    request("POST", path, &[FORM, ("Content-Length", &length)], body)
}

/// Text as a form sends it.
fn sent(text: &str) -> String {
    text.bytes().map(|b| format!("%{b:02X}")).collect()
}

#[test]
fn every_address_answers() {
    for question in questions() {
        let back = get(&format!("/{}", question.key));
        let current = format!("formaction=\"/{}\" aria-current=\"page\"", question.key);
        assert!(
            back.status == 200 && back.body.contains(&current),
            "{}",
            question.key
        );
    }
    for (path, status, kind) in [
        ("/", 200, "text/html"),
        (
            "/sweep?over=pump.slip&oils=iso-vg-46&oils=iso-vg-32",
            200,
            "text/html",
        ),
        (
            "/part/flush?method=return-line&target=2+%25",
            200,
            "text/html",
        ),
        ("/heat?ambient=38+C&air_conditioning=on", 200, "text/html"),
        ("/heat?air_flow=4+g/s&gear=2", 200, "text/html"),
        ("/auxfan?fan_speed=33+%25&climb=8+%25", 200, "text/html"),
        ("/trip?trip=tow", 200, "text/html"),
        ("/download/sheet.html?machine=car", 200, "text/html"),
        ("/download/auxfan.csv", 200, "text/csv"),
        ("/download/readings.csv", 404, "text/html"),
        ("/part/speed", 200, "text/html"),
        ("/part/why?measured=640+rpm+%C2%B1+10+rpm", 200, "text/html"),
        ("/part/sweep?over=viscosity", 200, "text/html"),
        ("/page.css", 200, "text/css"),
        ("/page.js", 200, "text/javascript"),
        ("/icon.svg", 200, "image/svg+xml"),
        ("/download/speed.html", 200, "text/html"),
        ("/download/why.json", 200, "application/json"),
        ("/download/sweep.csv", 200, "text/csv"),
        ("/download/machine.toml", 200, "application/toml"),
        ("/download/speed.exe", 404, "text/html"),
        ("/download/", 404, "text/html"),
        ("/nothing", 404, "text/html"),
        ("/speed/further", 404, "text/html"),
    ] {
        let back = get(path);
        assert_eq!(back.status, status, "{path}: {}", back.head);
        assert!(
            back.head.contains(&format!("content-type: {kind}")),
            "{path}: {}",
            back.head
        );
        for line in [
            "content-security-policy: default-src 'none'",
            "x-content-type-options: nosniff",
            "cache-control: no-store",
        ] {
            assert!(back.head.contains(line), "{path}: {}", back.head);
        }
        assert_eq!(
            back.head.contains("content-disposition: attachment"),
            path.starts_with("/download") && status == 200
        );
    }
    for method in ["PUT", "DELETE", "OPTIONS", "PATCH"] {
        assert_eq!(request(method, "/", &[], b"").status, 405, "{method}");
    }
    assert_eq!(request("HEAD", "/", &[], b"").status, 200);
}

#[test]
fn the_page_says_what_the_program_says() {
    let page = post(
        "/part/speed",
        b"machine=bus&engine_speed=raised&oil_temp=60+C",
    );
    let mut values = Values::new(Units::Si, oilwheel::model::Lookup::LibraryOnly);
    for (key, words) in [
        ("machine", "bus"),
        ("engine_speed", "raised"),
        ("oil_temp", "60 C"),
    ] {
        values.push(key, words);
    }
    let answer = oilwheel::tell::answer("speed", &values).unwrap().unwrap();
    let headline = oilwheel::report::pieces(&answer).headline;
    assert!(page.body.contains(&headline), "{headline}");
    let kept = get("/download/speed.json?machine=bus&engine_speed=raised&oil_temp=60+C");
    assert_eq!(kept.body, oilwheel::report::json(&answer));
    let us = post(
        "/part/speed",
        b"machine=bus&engine_speed=raised&oil_temp=60+C&units=us",
    );
    assert!(us.body.contains("psi") && !us.body.contains(" bar<"));
}

#[test]
fn what_is_wrong_stands_beside_its_field() {
    for (form, id, word) in [
        ("oil_temp=90+furlongs", "oil-temp-wrong", "furlongs"),
        ("set.pump.ratio=99", "set-pump-ratio-wrong", "too high"),
        (
            "set.choices.steering=sideways",
            "set-choices-steering-wrong",
            "in series",
        ),
        ("machine=lorry", "machine-wrong", "lorry"),
        ("oil=butter", "oil-wrong", "butter"),
        ("oil_line=40C=35cSt", "oil-line-wrong", "two to"),
        ("oil_line=butter", "oil-line-wrong", "temperature"),
        (
            "with=worn-pump&with_severity=7",
            "with-severity-wrong",
            "from 0 to 1",
        ),
        ("measured=640+furlongs", "measured-wrong", "furlongs"),
        ("machine_text=%5Bpump%5D", "machine-text-wrong", "[motor]"),
    ] {
        let page = get(&format!("/speed?{form}"));
        assert_eq!(page.status, 422, "{form}");
        let place = page
            .body
            .split(&format!("id=\"{id}\">"))
            .nth(1)
            .unwrap_or_else(|| panic!("{form}: no {id}"));
        let said = place.split("</p>").next().unwrap();
        assert!(said.contains(word), "{form}: “{said}”");
        let part = post("/part/speed", form.as_bytes());
        assert_eq!(part.status, 200, "{form}");
        let place = id.trim_end_matches("-wrong");
        assert!(
            part.body.contains(&format!("data-for=\"{place}\"")),
            "{form}: {}",
            part.body
        );
    }
    for (path, id) in [
        ("/why?against_oil=butter", "against-oil-wrong"),
        ("/why?against_oil_temp=9+furlongs", "against-oil-temp-wrong"),
        ("/why?against_machine=lorry", "against-machine-wrong"),
        (
            "/why?against_with=gremlins&against_with_severity=1",
            "against-with-severity-wrong",
        ),
        ("/flush?from_oil=butter", "from-oil-wrong"),
        ("/flush?to_oil=butter", "to-oil-wrong"),
        ("/flush?method=wish", "method-wrong"),
        ("/flush?target=900+%25", "target-wrong"),
        ("/flush?cost_per_litre=dear", "cost-per-litre-wrong"),
        ("/suspects?readings_text=butter", "readings-text-wrong"),
        ("/sweep?from=hot", "from-wrong"),
        ("/sweep?to=9000+C", "to-wrong"),
        ("/sweep?over=colour", "over-wrong"),
        ("/sweep?oils=butter", "oils-wrong"),
        ("/heat?ambient=900+C", "ambient-wrong"),
        ("/heat?road_speed=fast", "road-speed-wrong"),
        ("/heat?anchor=warm", "anchor-wrong"),
        ("/heat?air_flow=fast", "air-flow-wrong"),
        ("/heat?air_flow=4+g/s&fuel_flow=1+L/h", "air-flow-wrong"),
        ("/heat?gear=high", "gear-wrong"),
        ("/heat?rating_text=butter", "rating-text-wrong"),
        ("/auxfan?ambient=900+C", "ambient-wrong"),
        ("/auxfan?climb=steep", "climb-wrong"),
        ("/auxfan?fan_speed=900+%25", "fan-speed-wrong"),
        ("/auxfan?right_oil=butter", "right-oil-wrong"),
        ("/auxfan?at.front_1=sideways", "at-wrong"),
        ("/auxfan?at.front_1=none", "at-wrong"),
        ("/auxfan?try.front_1=class-250*9", "try-wrong"),
        ("/auxfan?fans_text=butter", "fans-text-wrong"),
        ("/auxfan?wire=9+km", "wire-wrong"),
        ("/auxfan?road_speed=fast", "road-speed-wrong"),
        ("/trip?trip=moon", "trip-wrong"),
        ("/trip?trip_text=butter", "trip-text-wrong"),
        ("/log?log_text=butter", "log-text-wrong"),
        (
            "/log?log_text=Time%2CECT%0A0%2C90%0A1%2C91&cap=hot",
            "cap-wrong",
        ),
        ("/why?against_oil=same", "against-oil-wrong"),
    ] {
        let page = get(path);
        assert_eq!(page.status, 422, "{path}");
        let place = page
            .body
            .split(&format!("id=\"{id}\">"))
            .nth(1)
            .unwrap_or_else(|| panic!("{path}: no {id}"));
        assert!(!place.starts_with("</p>"), "{path}");
    }
    let climb = "/heat?machine=car&road_speed=120+km/h&grade=12+%25&trailer=3000+kg";
    assert!(get(climb).body.contains("data-now>boils after"));
    // What the page cannot open it does not propose.
    let unknown = get("/speed?machine=xyz").body;
    assert!(unknown.contains("no machine called") && !unknown.contains("give its path"));
    let kept = get("/download/speed.json?oil_temp=hot");
    assert_eq!(kept.status, 422);
    assert!(kept.head.contains("text/html") && kept.body.contains("hot"));
}

/// What the program prints as JSON.
fn program(args: &[&str]) -> String {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_oilwheel"));
    let output = command.args(args).arg("--json").output().unwrap();
    assert!(output.status.success(), "{args:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn electric_fans_are_weighed_as_on_the_command_line() {
    let set = get(
        "/download/auxfan.json?fan_speed=33+%25&no_air_conditioning=on&at.front_1=pusher&at.bare=puller%2Bshroud\
         &try.front_1=class-250*2&right_oil=iso-vg-46&road_speed=70+km/h",
    );
    let args = [
        "auxfan",
        "light-truck",
        "--fan-speed",
        "33 %",
        "--no-air-conditioning",
    ];
    let more = [
        "--at",
        "front_1=pusher, bare=puller+shroud",
        "--try",
        "class-250@front_1*2",
    ];
    let rest = ["--right-oil", "iso-vg-46", "--road-speed", "70 km/h"];
    assert_eq!(set.body, program(&[&args[..], &more, &rest].concat()));
    // A table of one's own, whose fans are then offered.
    let table = oilwheel::model::AUXILIARY_FANS.replace("class-400", "big one");
    let form = format!("fan_speed=33+%25&fans_text={}", sent(&table));
    let page = post("/auxfan", form.as_bytes());
    assert_eq!(page.status, 200);
    for words in ["method=\"post\"", "1 × big one</option>", "class-250*1"] {
        assert!(page.body.contains(words), "{words}");
    }
    assert!(!page.body.contains("class-400"));
    // What mending gains stands beside what the fans gain.
    assert!(
        page.body.contains("for comparison: repair"),
        "{}",
        page.body
    );
}

/// The same notebook gives the same answers, and a form shows the condition for which its answer is.
#[test]
fn a_notebook_answers_on_the_page_as_in_the_terminal() {
    let reading =
        |test: &str, value: &str| format!("[[reading]]\ntest = \"{test}\"\nvalue = \"{value}\"\n");
    let machine = "machine = \"light-truck\"\n";
    let fast = reading("fan-speed-3000-hot", "1200 rpm ± 5 rpm");
    let both = format!(
        "{machine}{}{fast}",
        reading("fan-speed-idle-hot", "640 rpm ± 5 rpm")
    );
    let path = std::env::temp_dir().join(format!("oilwheel-page-{}.toml", std::process::id()));
    std::fs::write(&path, &both).unwrap();
    let book = path.to_str().unwrap();
    let numbers = |text: &str, keys: &[&str]| -> Vec<f64> {
        let answer: serde_json::Value = serde_json::from_str(text).unwrap();
        let number = |key: &&str| {
            answer[*key]
                .as_f64()
                .unwrap_or_else(|| panic!("{key} in {text}"))
        };
        keys.iter().map(number).collect()
    };
    for (path, form, args, keys) in [
        (
            "heat",
            "ambient=38+C&air_conditioning=on",
            &["heat", book, "--ambient", "38 C", "--air-conditioning"][..],
            &["coolant_temp_c", "fan_speed_rpm", "engine_speed_rpm"][..],
        ),
        (
            "trip",
            "trip=jam",
            &["trip", book, "jam"],
            &["peak_coolant_temp_c", "peak_difference_k"],
        ),
        (
            "speed",
            "",
            &["speed", book],
            &["fan_speed_rpm", "shortfall_rpm"],
        ),
    ] {
        let form = format!("machine=light-truck&{form}&book_text={}", sent(&both));
        let page = post(&format!("/download/{path}.json"), form.as_bytes());
        assert_eq!(
            numbers(&page.body, keys),
            numbers(&program(args), keys),
            "{path}"
        );
    }
    let form = |text: &str| format!("machine=light-truck&book_text={}", sent(text));
    let page = post("/heat", form(&both).as_bytes());
    assert!(page.body.contains("engine at 700 rpm"), "{}", page.body);
    let page = post("/speed", form(&format!("{machine}{fast}")).as_bytes());
    let stands = page
        .body
        .contains("name=\"engine_speed\" placeholder=\"3000 rpm\"");
    assert!(stands, "{}", page.body);
}

#[test]
fn a_trip_and_rating_points_of_ones_own_are_read() {
    let trip = "time_min,road_speed_km_h,ambient_c\n0,0,30\n10,0,30\n";
    let form = format!("trip=tow&trip_text={}", sent(trip));
    let page = post("/trip", form.as_bytes());
    assert_eq!(page.status, 200, "{}", page.body);
    assert!(page.body.contains("method=\"post\"") && page.body.contains("your trip"));
    let wrong = post(
        "/part/trip",
        format!("trip_text={}", sent(&trip.replace("10,0", "10,fast"))).as_bytes(),
    );
    assert!(
        wrong.body.contains("data-for=\"trip-text\"") && wrong.body.contains("Line 3"),
        "{}",
        wrong.body
    );
    let rating = "air_speed,coolant_flow,coolant_temp,air_temp,heat\n5 m/s,120 L/min,95 C,35 C,62 kW\n3 m/s,120 L/min,95 C,35 C,45 kW\n";
    let rated = post(
        "/part/heat",
        format!("rating_text={}", sent(rating)).as_bytes(),
    );
    assert!(
        rated.body.contains("Your 2 rating points determine"),
        "{}",
        rated.body
    );
}

#[test]
fn a_machine_goes_out_changed_and_comes_back() {
    let out = get(
        "/download/machine.toml?set.pump.ratio=1.7&set.choices.steering=first&set.steering.flow=1+L%2Fmin",
    );
    assert_eq!(out.status, 200);
    let machine = oilwheel::model::Machine::from_text("out", &out.body).unwrap();
    assert!(machine.shape.steering_first);
    let ratio = oilwheel::input::Input::find("pump.ratio").unwrap();
    assert!((machine.value(ratio).unwrap().value - 1.7).abs() < 1e-12);
    let form = format!("machine_text={}", sent(&out.body));
    let back = post("/speed", form.as_bytes());
    assert_eq!(back.status, 200, "{}", back.body);
    assert!(back.body.contains("method=\"post\"") && back.body.contains("placeholder=\"1.7\""));
    let same = get(
        "/part/speed?set.pump.ratio=1.7&set.choices.steering=first&set.steering.flow=1+L%2Fmin",
    );
    let number = |body: &str| {
        body.split("data-now>")
            .nth(1)
            .unwrap()
            .split('<')
            .next()
            .unwrap()
            .to_string()
    };
    assert_eq!(
        number(&same.body),
        number(&post("/part/speed", form.as_bytes()).body)
    );
}

#[test]
fn strangers_are_sent_away() {
    let host = SERVER.to_string();
    let port = SERVER.port();
    for headers in [
        vec![("Host", "evil.example")],
        vec![("Host", "127.0.0.1")],
        vec![("Host", "127.0.0.1:1")],
        vec![("Host", &host), ("Host", "evil.example")],
        vec![("Origin", "http://evil.example")],
        vec![("Origin", "null")],
        vec![("Sec-Fetch-Site", "cross-site")],
        vec![("Sec-Fetch-Site", "same-site")],
    ] {
        let back = request("GET", "/", &headers, b"");
        assert!(
            [400, 403].contains(&back.status),
            "{headers:?}: {}",
            back.status
        );
        assert!(!back.body.contains("rpm"), "{headers:?}");
    }
    let back = raw(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n");
    assert_eq!(back.status, 403);
    let own = format!("localhost:{port}");
    let origin = format!("http://localhost:{port}");
    assert_eq!(
        request("GET", "/", &[("Host", &own), ("Origin", &origin)], b"").status,
        200
    );
}

#[test]
fn what_is_too_large_or_no_text_is_refused() {
    let large = vec![b'a'; 400_000];
    assert_eq!(post("/speed", &large).status, 413);
    // Without a length, in pieces.
    let mut bytes = format!("POST /speed HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n{}: {}\r\nTransfer-Encoding: chunked\r\n\r\n", *SERVER, FORM.0, FORM.1).into_bytes();
    for _ in 0..80 {
        bytes.extend_from_slice(b"1000\r\n");
        bytes.extend_from_slice(&[b'a'; 4096]);
        bytes.extend_from_slice(b"\r\n");
    }
    bytes.extend_from_slice(b"0\r\n\r\n");
    assert_eq!(raw(&bytes).status, 413);
    assert_eq!(post("/speed", b"oil_temp=\xff\xfe").status, 400);
    for form in ["oil_temp=%FF%FE", "oil_temp=%00", "oil_temp=%zz"] {
        assert_eq!(get(&format!("/speed?{form}")).status, 400, "{form}");
    }
    assert_eq!(post("/speed", "a=1&".repeat(5000).as_bytes()).status, 400);
    let long = get(&format!("/speed?oil={}", "a".repeat(200_000)));
    assert!([414, 431].contains(&long.status), "{}", long.status);
    let wrong = request(
        "POST",
        "/speed",
        &[
            ("Content-Type", "application/json"),
            ("Content-Length", "2"),
        ],
        b"{}",
    );
    assert_eq!(wrong.status, 415);
    assert_eq!(raw(b"\x16\x03\x01 no words at all\r\n\r\n").status, 400);
    assert_eq!(get("/").status, 200);
}

#[test]
fn no_path_leads_to_a_file() {
    for path in [
        "/../Cargo.toml",
        "/..%2fCargo.toml",
        "/download/../../Cargo.toml",
        "/download/..%2f..%2fCargo.toml",
        "/download/machine.toml/../../Cargo.toml",
        "//etc/passwd",
        "/%2e%2e/%2e%2e/etc/passwd",
    ] {
        let back = get(path);
        assert_eq!(back.status, 404, "{path}");
        assert!(
            !back.body.contains("[package]") && !back.body.contains("root:"),
            "{path}"
        );
    }
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/models/machines/bus.toml");
    for name in [
        file,
        "./models/machines/bus.toml",
        "models/oils/iso-vg-46.toml",
        "/etc/passwd",
        "C:\\secret.toml",
    ] {
        for field in ["machine", "oil", "oils", "against_oil", "against_machine"] {
            for path in ["speed", "why", "sweep"] {
                let used = match field {
                    "machine" | "oil" => true,
                    "oils" => path == "sweep",
                    _ => path == "why",
                };
                if !used {
                    continue;
                }
                let back = get(&format!("/part/{path}?{field}={}", sent(name)));
                assert!(
                    back.body.contains("class=\"troubles\"") && back.body.contains("called"),
                    "{path} {field} {name}"
                );
                assert!(!back.body.contains("root:"), "{path} {field}");
            }
        }
    }
}

#[test]
fn marks_that_are_typed_stay_words() {
    let nasty = "<script>alert(1)</script>\"'&";
    for field in [
        "oil_temp",
        "oil",
        "machine",
        "oil_line",
        "machine_text",
        "measured",
        "with",
        "set.pump.ratio",
        "units",
    ] {
        let page = get(&format!("/speed?{field}={}", sent(nasty)));
        assert!(!page.body.contains("<script>"), "{field}");
    }
    let named = "name = \"<b>bold</b>\"";
    let text = oilwheel::model::MACHINES[0].1;
    let line = text.lines().find(|l| l.starts_with("name")).unwrap();
    let form = format!("machine_text={}", sent(&text.replace(line, named)));
    let page = post("/speed", form.as_bytes());
    assert_eq!(page.status, 200);
    assert!(!page.body.contains("<b>bold"));
}

#[test]
fn a_hundred_at_once_lose_nothing() {
    let asks: Vec<String> = (0..100)
        .map(|i| format!("/part/speed?engine_speed={}+rpm&machine=car", 600 + 10 * i))
        .collect();
    let alone = get(&asks[7]).body;
    let began = Instant::now();
    let backs: Vec<Back> = std::thread::scope(|scope| {
        let asking: Vec<_> = asks
            .iter()
            .map(|path| scope.spawn(move || get(path)))
            .collect();
        asking.into_iter().map(|a| a.join().unwrap()).collect()
    });
    for (i, back) in backs.iter().enumerate() {
        assert_eq!(back.status, 200, "client {i} after {:?}", began.elapsed());
        assert!(
            back.body.contains(&format!("{} rpm", 600 + 10 * i)),
            "client {i}"
        );
    }
    assert_eq!(backs[7].body, alone);
}

#[test]
fn a_client_that_dawdles_keeps_nobody_waiting() {
    let dawdling: Vec<TcpStream> = (0..40)
        .map(|_| {
            let mut stream = TcpStream::connect(*SERVER).unwrap();
            stream.write_all(b"POST /speed HTTP/1.1\r\nHost:").unwrap();
            stream
        })
        .collect();
    assert_eq!(get("/").status, 200);
    drop(dawdling);
}

#[test]
fn a_page_with_all_it_needs_is_light() {
    for question in questions() {
        let path = &format!("/{}", question.key);
        let weight: usize = [path, "/page.css", "/page.js", "/icon.svg"]
            .map(|p| get(p).body.len())
            .iter()
            .sum();
        assert!(weight < 300_000, "{path}: {weight} bytes");
    }
}

#[test]
fn the_port_that_is_asked_for_is_taken_or_said_to_be_taken() {
    let port = SERVER.port();
    let trouble =
        oilwheel::page::serve(Some(port), &mut |_| panic!("two on one port")).unwrap_err();
    assert!(trouble.to_string().contains("--port"), "{trouble}");
}

/// A log of a drive, 20 000 rows.
fn drive(warmest: f64) -> String {
    let mut text = String::from("Time (sec),ECT (°C),Vehicle speed (km/h),Engine RPM (rpm)\n");
    for i in 0..20_000 {
        let x = f64::from(i);
        let temp = 0.5 * (80.0 + warmest) + 0.5 * (warmest - 80.0) * (x / 700.0).sin();
        text.push_str(&format!("{i},{temp:.1},50,1500\n"));
    }
    text
}

fn post_log(path: &str, log: &[u8]) -> Back {
    let length = log.len().to_string();
    let kind = ("Content-Type", "text/csv");
    request("POST", path, &[kind, ("Content-Length", &length)], log)
}

#[test]
fn logs_are_read_as_they_are_sent() {
    let (before, after) = (drive(112.0), drive(97.0));
    let back = post_log("/part/log?cap=13+psi", before.as_bytes());
    assert_eq!(back.status, 200);
    assert!(
        back.body.contains("The coolant peaked at 112 °C"),
        "{}",
        back.body
    );
    assert!(back.body.contains("data-now>112 °C"), "{}", back.body);
    // Verdict, reason and next step come first, with the way to the question that weighs the causes.
    let row = |i: i32| match i % 1200 {
        0..600 => format!("{i},90,60,1500\n"),
        s => format!("{i},{},0,700\n", 90 + (s - 600) / 30),
    };
    let stops = "Time (sec),ECT (°C),Vehicle speed (km/h),Engine RPM (rpm)\n".to_string()
        + &(0..3600).map(row).collect::<String>();
    let hot = post_log("/part/log", stops.as_bytes()).body;
    let at = |words: &str| hot.find(words).unwrap_or_else(|| panic!("{words}: {hot}"));
    let order = [
        "It runs hot at standstill.",
        "largest climb",
        "Check next: ",
        "fan speed at idle",
        "formaction=\"/suspects\"",
        "<svg",
        "data-part=\"more\"",
    ];
    assert!(order.map(at).is_sorted(), "{hot}");
    // Two logs, one behind the other.
    let both = format!("{before}{after}");
    let path = format!("/part/log?first={}", before.len());
    let back = post_log(&path, both.as_bytes());
    assert!(back.body.contains("97 °C"), "{}", back.body);
    let report = post_log("/download/log.html", before.as_bytes());
    assert!(report.head.contains("attachment") && report.body.contains("<!DOCTYPE html>"));
    // Pasted.
    let short: String = before.lines().take(2000).collect::<Vec<_>>().join("\n");
    let pasted = post("/part/log", format!("log_text={}", sent(&short)).as_bytes());
    assert!(pasted.body.contains("peaked at"), "{}", pasted.body);
    // No log is no page's, and a log has an end.
    assert_eq!(post_log("/part/speed", b"Time,ECT\n0,90\n").status, 415);
    let huge = ("Content-Length", &*(100_u64 << 20).to_string());
    let kind = ("Content-Type", "text/csv");
    assert_eq!(
        request("POST", "/part/log", &[kind, huge], b"Time,ECT\n").status,
        413
    );
    assert!(post_log("/part/log", b"").body.contains("Drag a log"));
    for bytes in [&b"\xff\xfe\x00"[..], b"\0\0\0\0", b"a,b\n1"] {
        let back = post_log("/part/log", bytes);
        assert_eq!(back.status, 200);
        assert!(back.body.contains("data-for=\"log-text\""), "{}", back.body);
    }
}

/// Words about flags of the command line, which nobody types here.
fn flags(body: &str) -> Vec<&str> {
    let after = body.match_indices("--").map(|(at, _)| &body[at..]);
    let is_flag = |text: &&str| text.as_bytes().get(2).is_some_and(u8::is_ascii_lowercase);
    after
        .filter(is_flag)
        .map(|text| text.get(..40).unwrap_or(text))
        .collect()
}

#[test]
fn answers_speak_of_fields_and_not_of_flags() {
    let mut all = String::new();
    for question in questions() {
        let page = get(&format!("/{}", question.key)).body;
        assert_eq!(flags(&page), Vec::<&str>::new(), "{}", question.key);
        all.push_str(&page);
    }
    let log = post_log(
        "/part/log",
        b"Time (sec),ECT (\xc2\xb0C)\n0,90\n1,91\n2,92\n",
    )
    .body;
    assert_eq!(flags(&log), Vec::<&str>::new(), "{log}");
    let said = [
        ("“Ambient temperature”", &log),
        ("“Which column is which”", &log),
        ("“Volume poured", &all),
    ];
    for (name, page) in said {
        assert!(page.contains(name), "{name}");
    }
    for label in [
        "Ambient temperature",
        "Start with everything at ambient temperature",
        "Which column is which",
        "Fraction of the fill drained in one round",
        "Interval between rows",
        "Fuel of the engine",
        "Numbers (JSON)",
        "Volume poured through in one go",
        "Parts of the machine",
    ] {
        assert!(
            all.contains(&format!(">{label}")),
            "{label} is no name in the form"
        );
    }
}

#[test]
fn what_was_typed_in_words_moves_the_slides() {
    for (form, slide, at) in [
        ("engine_speed=idle", "engine-speed", "700"),
        ("oil_temp=14+F", "oil-temp", "-10"),
        ("oil_temp=-10+C&units=us", "oil-temp", "14"),
        ("command=least", "command", "0"),
    ] {
        let back = post("/part/speed", form.as_bytes());
        let place = format!("data-slide=\"{slide}\" data-at=\"{at}\"");
        assert!(back.body.contains(&place), "{form}: {}", back.body);
    }
    let us = get("/speed?units=us&oil_temp=900+F");
    assert!(us.body.contains("900 °F is too high"), "{}", us.body);
}

#[test]
fn a_difference_says_what_it_is_held_against() {
    let first = get("/part/why").body;
    assert!(
        first.contains("difference from the fan speed on Multi-vehicle transmission fluid"),
        "{first}"
    );
    let other = get("/part/why?against_oil=same&against_oil_temp=-10+C").body;
    assert!(
        other.contains("difference from the fan speed with oil at -10 °C"),
        "{other}"
    );
}

#[test]
fn without_readings_nothing_looks_like_a_finding() {
    let page = get("/part/suspects").body;
    assert!(page.contains("data-now>No reading yet"), "{page}");
    assert!(page.contains("no finding yet"), "{page}");
    let read = get("/part/suspects?note.test=fan-speed-idle-hot&note.value=640+%C2%B1+10").body;
    assert!(!read.contains("No reading yet") && !read.contains("no finding yet"));
}

#[test]
fn long_work_ends_when_its_clients_go_away() {
    let began = Instant::now();
    let _ = get("/part/suspects");
    let alone = began.elapsed();
    for i in 0..40 {
        let mut stream = TcpStream::connect(*SERVER).unwrap();
        let ask = format!(
            "GET /part/suspects?engine_speed={}+rpm HTTP/1.1\r\nHost: {}\r\n\r\n",
            700 + i,
            *SERVER
        );
        stream.write_all(ask.as_bytes()).unwrap();
        std::thread::sleep(Duration::from_millis(5));
    }
    let began = Instant::now();
    assert_eq!(get("/part/suspects").status, 200);
    // The forty would take many times as long.
    assert!(
        began.elapsed() < 10 * alone,
        "{:?} after {alone:?}",
        began.elapsed()
    );
}

#[test]
fn what_is_light_does_not_wait_behind_long_work() {
    let busy: Vec<TcpStream> = (0..12)
        .map(|i| {
            let mut stream = TcpStream::connect(*SERVER).unwrap();
            let ask = format!(
                "GET /part/suspects?engine_speed={}+rpm HTTP/1.1\r\nHost: {}\r\n\r\n",
                1700 + i,
                *SERVER
            );
            stream.write_all(ask.as_bytes()).unwrap();
            stream
        })
        .collect();
    // Most of them wait still when these are answered.
    for path in ["/page.css", "/page.js", "/icon.svg"] {
        assert_eq!(get(path).status, 200);
    }
    let mut waits = 0;
    for mut stream in busy {
        stream.set_nonblocking(true).unwrap();
        waits += usize::from(stream.read(&mut [0]).is_err());
    }
    assert!(waits > 6, "{waits} of the twelve waited still");
}

#[test]
fn of_much_junk_the_first_mistakes_are_told_and_how_many_more() {
    for junk in [
        "x\n".repeat(50_000),
        format!("machine = \"light-truck\"\n[known]\n{}", {
            let line = |i: usize| format!("\"p{i}\" = \"1\"\n");
            (0..6_000).map(line).collect::<String>()
        }),
        format!(
            "machine = \"light-truck\"\nskip = [{}]\n",
            "\"a\",".repeat(20_000)
        ),
    ] {
        // Escaped letter by letter it would be too large.
        let junk = junk.replace('\n', "%0A").replace(' ', "+");
        let back = post("/part/suspects", format!("book_text={junk}").as_bytes());
        let body = back.body;
        assert!(
            body.contains(" more</li>") && body.len() < 60_000,
            "{}",
            body.len()
        );
        assert!(body.matches("<li").count() <= 21);
    }
}

/// A reading, a fact and a work are each struck out by their button, and nothing else with them; what was done is said.
#[test]
fn a_line_of_the_notebook_is_struck_out() {
    let book = "machine = \"light-truck\"\n[known]\n\"pump.ratio\" = \"1.3 ± 0.02\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm ± 5 rpm\"\n[[reading]]\ntest = \"fan-speed-raised-hot\"\nvalue = \"1669 rpm ± 5 rpm\"\n[[work]]\ndate = 2026-06-20\nwhat = \"oil changed\"\n[[work]]\ndate = 2025-06-20\nwhat = \"belt\"\n";
    let all = ["640", "1669", "1.3 ±", "oil changed", "belt"];
    for (line, gone) in [
        ("reading.0", "640"),
        ("reading.1", "1669"),
        ("known.pump.ratio", "1.3 ±"),
        ("work.2026-06-20.oil changed", "oil changed"),
        ("work.2025-06-20.belt", "belt"),
    ] {
        let form = format!("book_text={}&strike={}&write=on", sent(book), sent(line));
        let page = post("/part/speed", form.as_bytes()).body;
        assert!(page.contains("Struck out: "), "{line}: {page}");
        let (_, text) = page.split_once("name=\"book_text\"").unwrap();
        let (text, _) = text.split_once("</textarea>").unwrap();
        for words in all {
            assert_eq!(
                text.contains(words),
                words != gone,
                "{line}, {words}: {text}"
            );
        }
    }
    for line in [
        "reading.7",
        "reading.x",
        "known.pump",
        "work.x",
        "x",
        "work.2026-06-20.nothing",
    ] {
        let form = format!("book_text={}&strike={}&write=on", sent(book), sent(line));
        let page = post("/part/speed", form.as_bytes()).body;
        assert!(!page.contains("Struck out"), "{line}");
        assert!(all.iter().all(|words| page.contains(words)), "{line}");
    }
}

/// A question that takes a file of its own says so, and answers it.
#[test]
fn points_are_read_from_their_file() {
    let page = get("/points").body;
    assert!(page.contains("Choose the file") && !page.contains("class=\"troubles\""));
    for (file, part) in [("points.csv", "pump"), ("fan-curve.csv", "fan")] {
        let path = format!("{}/guide/{file}", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let form = format!("part={part}&points_text={}", sent(&text));
        let page = post("/part/points", form.as_bytes()).body;
        let mut values = Values::new(Units::Si, oilwheel::model::Lookup::LibraryOnly);
        values.push_text("points", file, &text);
        values.push("part", part);
        let answer = oilwheel::tell::answer("points", &values).unwrap().unwrap();
        let headline = oilwheel::report::pieces(&answer).headline;
        assert!(page.contains(&headline), "{headline}: {page}");
    }
}

/// The notebook's text on a page.
fn book_of(page: &str) -> &str {
    let (_, text) = page.split_once("name=\"book_text\"").unwrap();
    text.split_once("</textarea>").unwrap().0
}

/// What the first card sends.
fn first_reading(value: &str, more: &str) -> String {
    let form = format!(
        "next.test=fan-speed-idle-hot&next.value={}&write=next{more}",
        sent(value)
    );
    post("/part/speed", form.as_bytes()).body
}

/// A reading of the first card is kept with what was said of it, in each way in which a speed can be written.
#[test]
fn the_first_card_keeps_what_is_typed_there() {
    let page = first_reading(
        "640",
        "&next.command=not+sure&next.by=slow-motion&next.date=2026-11-29",
    );
    for line in [
        "value = &quot;640 rpm",
        "command = &quot;not sure",
        "instrument = &quot;slow-motion",
    ] {
        assert!(book_of(&page).contains(line), "{line}: {page}");
    }
    assert!(page.contains("640 ± 7 rpm"), "{page}");
    for (words, rpm) in [
        ("12 turns in 275 frames at 240 fps", "628 ± "),
        ("118 Hz, 7 blades", "1011 ± "),
        ("10.7 Hz", "642 ± "),
    ] {
        let page = first_reading(words, "&next.by=stroboscope&next.date=2026-11-29");
        assert!(
            !page.contains("class=\"troubles\"") && page.contains(rpm),
            "{words}: {page}"
        );
    }
}

/// What cannot be is asked about, in words and not in keys; with its ± it counts.
#[test]
fn what_no_fan_does_is_asked_about() {
    for (words, said) in [
        (
            "64000",
            "more than twice the highest fan speed of this drive",
        ),
        ("3840", "every blade was counted"),
        ("1.140", "could mean 1140"),
        ("abc", "`abc` is not a number"),
        ("640 km/h", "a speed of rotation"),
        ("", "nothing was typed"),
    ] {
        let page = first_reading(words, "");
        assert!(page.contains(said), "{words}: {page}");
        assert!(
            page.contains("data-for=\"next-value\"") || page.contains("data-for=\"note-value\"")
        );
        let (_, troubles) = page.split_once("class=\"troubles\"").unwrap();
        assert!(
            !troubles.contains("fan-speed-idle-hot"),
            "{words}: {troubles}"
        );
    }
    let page = first_reading("3840 ± 10", "");
    assert!(page.contains("Your fan is fast: 3840"), "{page}");
    // The same of a machine that does turn so fast.
    let raised = "note.test=fan-speed-raised-hot&note.value=2395&write=note";
    assert!(
        !post("/part/speed", raised.as_bytes())
            .body
            .contains("more than twice")
    );
}

/// A verdict says which machine it assumes; the next step is where the readings are weighed.
#[test]
fn a_verdict_says_what_it_assumes() {
    let page = first_reading("640", "&next.command=full");
    assert!(
        page.contains("Your fan is slow") && page.contains("Compared with a class of machines")
    );
    assert!(page.contains("href=\"#machine\"") && page.contains("formaction=\"/suspects\""));
    assert!(!page.contains("read the fan speed at idle"), "{page}");
    assert!(!get("/part/speed").body.contains("Compared with a class"));
}

/// The instrument of the last reading is assumed for the next.
#[test]
fn the_last_instrument_is_remembered() {
    let book = "machine = \"light-truck\"\n[[reading]]\ntest = \"fan-speed-idle-hot\"\nvalue = \"640 rpm\"\ninstrument = \"slow-motion\"\n";
    let form = format!(
        "book_text={}&note.test=fan-speed-raised-hot&note.value=1669&write=note",
        sent(book)
    );
    let page = post("/part/speed", form.as_bytes()).body;
    let text = book_of(&page);
    assert_eq!(
        text.matches("instrument = &quot;slow-motion").count(),
        2,
        "{text}"
    );
    // A gauge that is named has the full scale that suits the machine.
    let gauge = format!(
        "book_text={}&note.test=supply-pressure-idle-hot&note.value=40&note.by=gauge-class-2.5&write=note",
        sent(book)
    );
    let page = post("/part/speed", gauge.as_bytes()).body;
    assert!(book_of(&page).contains("full_scale = &quot;"), "{page}");
}

/// What cannot be done is listed, and can be taken back one by one.
#[test]
fn a_test_left_out_can_be_taken_back() {
    let book = "machine = \"light-truck\"\nskip = [\"pump.ratio\", \"photo-tachometer\"]\n";
    let form = format!(
        "book_text={}&strike=skip.photo-tachometer&write=on",
        sent(book)
    );
    let page = post("/part/speed", form.as_bytes()).body;
    let text = book_of(&page);
    assert!(
        text.contains("pump.ratio") && !text.contains("photo-tachometer"),
        "{text}"
    );
    assert!(page.contains("value=\"skip.pump.ratio\"") && page.contains("Struck out"));
}

/// In words, in the units of the page.
#[test]
fn the_page_speaks_its_units_and_no_keys() {
    assert!(!get("/heat?units=us").body.contains("25 C\""));
    assert!(!get("/log").body.contains("13 psi\""));
    let fans = get("/part/auxfan").body;
    let shown = fans.replace("class-", "").replace("value=\"front_", "");
    assert!(
        fans.contains("mm fan") && !shown.contains("front_"),
        "{shown}"
    );
    assert!(!fans.contains("class-250 at"), "{fans}");
    let size = get("/part/size").body;
    assert!(size.contains("met with pump displacement"), "{size}");
}
