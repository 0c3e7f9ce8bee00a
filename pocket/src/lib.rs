//! The boundary between the page's script and the model: bytes in, bytes out.
//!
//! The script asks for room, writes path, form and logs into it one behind the other, and calls [`ask`] with their lengths.
//! What comes back begins with four numbers of 32 bits, the least byte first: the status, and the lengths of the kind of
//! text, of the file's name and of the text; then these three. [`done`] takes it back. What panics is told to the script by
//! `panicked`, and then traps: the script ends the worker in which it ran.

use oilwheel::page::{Reply, respond};
use oilwheel::trouble::Stop;

#[link(wasm_import_module = "page")]
unsafe extern "C" {
    /// Takes the words of a panic.
    safe fn panicked(words: *const u8, length: usize);
}

/// Says what a panic says from now on; called once.
#[unsafe(no_mangle)]
pub extern "C" fn begin() {
    std::panic::set_hook(Box::new(|panic| {
        let words = panic.to_string();
        panicked(words.as_ptr(), words.len());
    }));
}

/// Room for so many bytes.
#[unsafe(no_mangle)]
pub extern "C" fn room(length: usize) -> *mut u8 {
    Box::into_raw(vec![0_u8; length].into_boxed_slice()).cast()
}

/// The reply to what stands in a room: a path, a form and logs of such lengths. The room is taken back.
///
/// # Safety
///
/// `asked` must come from [`room`], asked for just these lengths together, and not be used again.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn ask(asked: *mut u8, path: usize, form: usize, logs: usize) -> *const u8 {
    let all = std::ptr::slice_from_raw_parts_mut(asked, path + form + logs);
    // SAFETY: the caller keeps to what is said above; `room` made it as a boxed slice of this length.
    let all = unsafe { Box::from_raw(all) };
    let (path, rest) = all.split_at(path);
    let (form, logs) = rest.split_at(form);
    let text = |bytes| String::from_utf8_lossy(bytes).into_owned();
    let path = text(path);
    // The one way to see what a page does when the program fails.
    assert!(path != "/panic", "asked to panic");
    sent(&respond(&path, &text(form), logs, &Stop::default()))
}

/// A reply as bytes.
fn sent(reply: &Reply) -> *const u8 {
    let file = reply.file.as_deref().unwrap_or_default();
    let parts = [reply.kind, file, &reply.body];
    let mut bytes = Vec::with_capacity(16 + parts.iter().map(|p| p.len()).sum::<usize>());
    bytes.extend(u32::from(reply.status).to_le_bytes());
    for part in parts {
        bytes.extend((part.len() as u32).to_le_bytes());
    }
    for part in parts {
        bytes.extend(part.as_bytes());
    }
    Box::into_raw(bytes.into_boxed_slice())
        .cast::<u8>()
        .cast_const()
}

/// Takes a reply back.
///
/// # Safety
///
/// `reply` must come from [`ask`], be of this length, and not be used again.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn done(reply: *mut u8, length: usize) {
    // SAFETY: the caller keeps to what is said above; `sent` made it as a boxed slice of this length.
    drop(unsafe { Box::from_raw(std::ptr::slice_from_raw_parts_mut(reply, length)) });
}
