//! Decoders that are not ours, and what they make of a stream.

use plyreel::encode::Unit;
use plyreel::units::Size;
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

/// The judges: two libraries, each by its own program and inside ffmpeg, and a third where it is installed.
pub const JUDGES: [&str; 5] = ["aomdec", "dav1d", "ffmpeg libdav1d", "ffmpeg libaom-av1", "gav1_decode"];

/// The judges whose program is installed.
pub fn present() -> Vec<&'static str> {
    let runs = |judge: &&str| {
        let program = judge.split(' ').next().unwrap_or(judge);
        Command::new(program).arg("--help").stdout(Stdio::null()).stderr(Stdio::null()).status().is_ok()
    };
    JUDGES.iter().filter(|judge| runs(judge)).copied().collect()
}

/// Writes the units as IVF with temporal delimiters.
pub fn write_ivf(path: &Path, size: Size, units: &[Unit]) -> std::io::Result<()> {
    let mut file = b"DKIF\0\0\x20\0AV01".to_vec();
    file.extend((size.width as u16).to_le_bytes());
    file.extend((size.height as u16).to_le_bytes());
    file.extend([30u32, 1, units.len() as u32, 0].into_iter().flat_map(u32::to_le_bytes));
    for (time, unit) in units.iter().enumerate() {
        file.extend((unit.data.len() as u32 + 2).to_le_bytes());
        file.extend((time as u64).to_le_bytes());
        file.extend([0x12, 0]);
        file.extend(&unit.data);
    }
    std::fs::write(path, file)
}

/// Has a judge decode the file and compares each frame's hash with `expected`. It must have nothing to say.
pub fn judge(judge: &str, path: &Path, size: Size, expected: &[u64]) -> Result<(), String> {
    let file = path.to_str().ok_or("a path in Unicode")?;
    let (program, arguments): (&str, Vec<&str>) = match judge {
        "aomdec" => (judge, vec!["--rawvideo", "--i420", "-o", "-", file]),
        "dav1d" => (judge, vec!["-q", "--strict", "1", "--muxer", "yuv", "-o", "/dev/stdout", "-i", file]),
        "gav1_decode" => (judge, vec!["-o", "/dev/stdout", file]),
        _ => {
            let decoder = judge.strip_prefix("ffmpeg ").ok_or("a judge that is known")?;
            let mut arguments = vec!["-v", "warning", "-c:v", decoder, "-i", file];
            arguments.extend(["-fps_mode", "passthrough", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-"]);
            ("ffmpeg", arguments)
        }
    };
    let said = path.with_extension("said");
    let stderr = File::create(&said).map_err(|e| e.to_string())?;
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(stderr)
        .spawn()
        .map_err(|e| format!("{judge}: {e}"))?;
    let mut stdout = child.stdout.take().ok_or("a pipe")?;
    let mut frame = vec![0; (size.width * size.height * 3 / 2) as usize];
    let (mut frames, mut differing) = (0, Vec::new());
    while stdout.read_exact(&mut frame).is_ok() {
        if expected.get(frames) != Some(&hash(&frame)) {
            differing.push(frames);
        }
        frames += 1;
    }
    let status = child.wait().map_err(|e| e.to_string())?;
    // libgav1's program tells what it decodes; all else that a judge says is a complaint.
    let said = std::fs::read_to_string(&said).map_err(|e| e.to_string())?;
    let said: Vec<&str> = said.lines().filter(|line| !line.starts_with("decoding '") && !line.is_empty()).collect();
    if status.success() && said.is_empty() && differing.is_empty() && frames == expected.len() {
        return Ok(());
    }
    differing.truncate(8);
    Err(format!("{judge}: {frames} of {} frames, differing {differing:?}, {status}, {said:?}", expected.len()))
}

/// FNV-1a by eight bytes at a time.
pub fn hash(bytes: &[u8]) -> u64 {
    let (words, rest) = bytes.as_chunks::<8>();
    let words = words.iter().map(|word| u64::from_le_bytes(*word)).chain(rest.iter().map(|&byte| u64::from(byte)));
    words.fold(0xcbf2_9ce4_8422_2325, |hash: u64, word| (hash.rotate_left(23) ^ word).wrapping_mul(0x100_0000_01b3))
}
