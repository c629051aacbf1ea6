//! What `--help` says below the options. No line is longer than 80 columns, so that no terminal breaks one in two.

/// `plyreel --help`.
pub const PROGRAM: &str = "\
Examples:
  plyreel new lantern-01            a starter film, ready to render
  plyreel check lantern-01/film.toml
  plyreel clip lantern-01/film.toml -o lantern-01.mp4
  plyreel still lantern-01/film.toml --at 0:12.5 -o still.png

Exit codes: 0 made, 1 the input has mistakes, 2 bad usage, 3 the world failed,
130 stopped by Ctrl-C.";

/// `plyreel new --help`.
pub const NEW: &str = "\
Example:
  plyreel new lantern-01 && plyreel clip lantern-01/film.toml";

/// `plyreel check --help`.
pub const CHECK: &str = "\
Examples:
  plyreel check film.toml
  plyreel check film.toml --format json | jq .film.frames
  plyreel check film.toml --suggest      pins, forks, batteries …: their marks
  plyreel check - < film.toml";

/// `plyreel clip --help`.
pub const CLIP: &str = "\
Examples:
  plyreel clip film.toml                               film.mp4 beside film.toml
  plyreel clip film.toml -o film.webm
  plyreel clip film.toml --from 1:20 --to 1:50 --draft
  plyreel clip film.toml --scene \"The first position\" -o first.mp4
  plyreel clip film.toml --watch                       again after every save
  plyreel clip lesson-*/film.toml                      they share the cores
  plyreel clip --clear-cache                           forget what was coded

To lay over footage: over.fill.mp4, and over.key.mp4, its matte:
  plyreel clip film.toml --layout overlay -o over.mp4

The narration at -14 LUFS, its true peaks below -1 dBTP:
  plyreel clip film.toml --loudness -14

One film on several machines; the first makes film.part-03-of-12.plyreel:
  plyreel clip film.toml --chunk 3/12
  plyreel join film.toml film.part-*.plyreel -o film.mp4

What was coded once is kept in the user's cache folder, XDG_CACHE_HOME obeyed,
and not coded again: after an edit only what it touches, after a stop or a crash
only what was not finished.";

/// `plyreel join --help`.
pub const JOIN: &str = "\
Examples:
  plyreel join film.toml film.part-*.plyreel -o film.mp4

The film is the same, byte for byte, as if it had been made in one go. Size,
coder and the like are those of the parts. With GNU parallel, and as a Slurm
array:
  parallel plyreel clip film.toml --chunk {}/12 ::: $(seq 12)
  sbatch --array=1-12 \\
    --wrap 'plyreel clip film.toml --chunk $SLURM_ARRAY_TASK_ID/12'";

/// `plyreel frames --help`.
pub const FRAMES: &str = "\
Examples:
  plyreel frames film.toml -o frames --from 0:10 --to 0:12
  plyreel frames film.toml -o frames --layout overlay

With the overlay layout the pictures have straight alpha, to lay over footage.";

/// `plyreel still --help`.
pub const STILL: &str = "\
Examples:
  plyreel still film.toml --at 0:12.5 -o still.png
  plyreel still film.toml --at crossroads -o - > still.png

Here `crossroads` is a label of the timeline, and `-o -` standard output.";

/// `plyreel thumb --help`.
pub const THUMB: &str = "\
Examples:
  plyreel thumb film.toml                  film-thumb-1.png, film-thumb-2.png …
  plyreel thumb film.toml -o pictures --sheet

The sheet is pictures/film-thumbs.png: all of them as on a phone.

In the timeline:
  [[thumbnail]]
  moment = \"crossroads\"       a label; or `scene`, or `at`
  words  = \"Not a *queen*!\"   one to three; the accented between asterisks
  arrows = [\"c7 c8\"]          with `marks`: they decide what part is shown
  design = \"split\"            split, portrait or band; else chosen";

/// `plyreel replay --help`.
pub const REPLAY: &str = "\
Examples:
  plyreel replay film.toml                     film-replay.mp4, if one scene
                                               has a solution
  plyreel replay film.toml --scene \"The first position\" -o slow.mp4
  plyreel replay film.toml --line try --pace 0.2 -o try.webm
  plyreel replay film.toml --frame square -o post.webp
  plyreel replay film.toml --height 360 -o post.gif

It ends as it begins, so it goes round without a jump. An animated .webp or .png
shows the painted pixels exactly; a .gif has 256 colours. Without --height they
have at most 540 lines (a tall one 540 columns), and a GIF of a film with more
than 50 frames a second has 25.";

/// `plyreel draft --help`.
pub const DRAFT: &str = "\
Examples:
  plyreel draft --words talk.vtt --pgn lines.pgn \\
    --narration talk.flac -o film.toml
  plyreel draft --words talk.json \\
    --fen \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\" -o film.toml
  plyreel draft --words talk.vtt -o film.toml --pin

The last listens again, around what was corrected.

With lines at hand every move is sought on them first; a legal move that they
lack is taken if it is plainly spoken. With a position alone a draft is a help
to begin with. What is doubtful has `# ?` beside it: how sure it is, what was
heard, what it may be. Moves that are only threatened or planned become ghosts.";

/// `plyreel kit --help`.
pub const KIT: &str = "\
Examples:
  plyreel kit film.toml -o kit           then open kit/index.html
  plyreel kit film.toml -o kit --force   again, over what is there
  plyreel kit film.toml -o kit --words narration.vtt
  plyreel kit film.toml -o kit --profile streaming --link \"Book: example.org\"

With --words the subtitles are what is said, else they are the captions.

A template for the description is a plain text with fields in braces; a line
whose fields are all empty is left out:
  {title}, {series}, {number}, {presenter}, {voice}, {music}, {length},
  {chapters}, {positions}, {credits}, {links}
`{{` and `}}` are braces. Credits that it has no place for come at its end.";

/// `plyreel sync --help`.
pub const SYNC: &str = "\
Examples:
  plyreel sync film.toml --words take-2.vtt --narration take-2.flac
  plyreel sync film.toml --old-words take-1.json --words take-2.json \\
    --narration take-2.flac
  plyreel sync film.toml --words take-2.srt --dry-run -v

The last says only what would move, and by how much.

With the old take's transcript every word is found again by the words around it;
without, the moves are heard in the new one, and the captions looked for. What
was not found is told, and lies where it would be by what is around it. The file
as it was is kept beside it as film.toml.bak.";

/// `plyreel schema --help`.
pub const SCHEMA: &str = "\
Example:
  plyreel schema > timeline.schema.json
  then, as the first line of a timeline:  #:schema ./timeline.schema.json";

/// `plyreel completions --help`.
pub const COMPLETIONS: &str = "\
Examples, each for the shells that are opened from then on:
  plyreel completions bash > ~/.local/share/bash-completion/completions/plyreel
  plyreel completions zsh  > ~/.zfunc/_plyreel     a folder of your $fpath
  plyreel completions fish > ~/.config/fish/completions/plyreel.fish

The folder must be there: `mkdir -p` makes it.";

/// `plyreel prove --help`.
pub const PROVE: &str = "\
Examples:
  plyreel prove film.toml                  every scene with a board
  plyreel prove film.toml -o report.html   a page; .md, .json, .txt too
  plyreel prove film.toml --syzygy ~/syzygy --budget 1m
  plyreel prove - --format json < film.toml | jq '.reports[].soundness'
  plyreel prove --fen \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\" \\
    --line \"c7 Rd6+ Kb5\" --claim \"only winning move\"
  plyreel prove --fen \"kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1\" --claim \"#2\"
  plyreel prove --fen \"kbK5/pp6/1P6/8/8/8/8/R7 w - - 0 1\" \\
    --claim \"mate in 2\" --tree > proof.pgn

Without -o a page is had with `--format markdown` or `--format html`, which are
forms of this command alone.

A claim is one of a timeline's or a stipulation: `+`, `=`, `#2`, `s#3`, `h#2.5`,
`r#2`; `h#3, 2 solutions`.
Claims: check, mate, stalemate, only move, mate in 3, threat Ra8#, threat mate
in 2, White wins, Black wins, draw, only winning move, only drawing move,
zugzwang; and motifs, with the squares that take part where you like:
  battery, direct battery, indirect battery
      a line, and on it a man that can leave it with check, or so that a square
      beside the king is attacked
  pin e4
      e4 may not leave the line to its king, or loses a better man behind it if
      it does
  skewer, fork
      what is attacked cannot all be saved in one exchange, whatever the answer
  double check, discovered check
  interference
      the last move cuts a man off from what it guarded, and that now falls, or
      mate follows there
  interposition
      the last move stands between an enemy's man and what that attacked
  stalemate net
      a man can be offered so that taking it is stalemate
  trapped a1
      a1 has no move that does not lose it, or something for it, in one exchange
  flights h8 g7 h7, flights h8 none
      all the squares a king may go to, no more and no fewer

Soundness is `sound`, `dual`, `cooked`, `short`, `no solution` or `open`. Of a
study's moves:
  only    no other move keeps the result
  only*   others do, but only waste time: after them the win cannot be forced
          without the same position (the same men, the same side to move, the
          same rights) coming back. Such moves are no duals and listed apart
  dual    another move keeps the result by a way of its own. Minor: at the
          line's last move, by another piece for the same pawn, or by another
          order of moves (back in the main line within three plies). Serious:
          else
  cook    another first move keeps the result
Of a problem's variations: a move that leaves every threat as it was is no
defence; if there are several, that is a dual, minor if a defence separates
them. After a defence a dual is minor if only the promotion differs, or at the
mating move of a problem in more than two moves; else it is serious. `short`:
mate comes sooner. A try is a first move that one reply alone refutes.

Four men and fewer, and five without pawns, are decided exactly by endgame
tables that are made when they are first needed and kept; so are more with a
folder of Syzygy tables (--syzygy). A table of five men takes up to half a
minute of two cores, which comes on top of --budget: two at most are made for
one composition, and none if less than the usual 5 s is asked for. Beyond that a
result is proven by a line that forces it, or by all positions that can arise
(with pawns and at most one piece, a formation of pawns at a time), as far as
the budget reaches (what is asked of one composition of more men shares it);
else it is open. The fifty-move rule does not count in compositions (Codex 2019,
art. 17): a win that needs longer is a win.

JSON: { diagnostics, title, reports: [ { name, credit, fen, white, black, gbr,
men, stipulation, verdict, witness, soundness, summary, solution: [text],
sections: [ { id, title, rows: [ { moves, word, weight, note, depth } ] } ] } ],
claims: [ { scene, claim, verdict, witness } ] }. Sections without rows are left
out; ids are moves, wasters, cooks, duals, replies, tries, zugzwangs, set-play,
key, variations, solutions, short, motifs, claims.

Exit code 1 if a stipulation or a claim is refuted, and where --tree finds no
proof.";
