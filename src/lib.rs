//! One text file is the film: `plyreel` replays it by the laws of chess, proves what the presenter says, and paints
//! it in step with the voice.
//!
//! 1. [`timeline`] reads the text: [`timeline::Timeline`].
//! 2. [`game`] replays it by the laws of chess: [`game::Game`].
//! 3. [`proof`] judges what the film claims: [`proof::Finding`].
//! 4. [`narration`] opens the recording, and reads what is said in it; [`draft`] makes a first timeline of that, [`sync`]
//!    brings a timeline into step with a new take.
//! 5. [`film`] puts the game on the voice's clock: [`film::Film`], which gives a [`film::Picture`] for any time.
//! 6. [`paint`] turns a picture into pixels.
//! 7. [`thumbnail`] chooses what announces the film: [`paint::Poster`].
//! 8. [`kit`] writes what is published beside the film: [`kit::KitFile`].
//! 9. [`animation`] turns a film that ends as it begins into an animated WebP, PNG or GIF.
//! 10. [`encode`] turns pixels into AV1 units and the narration into Opus packets.
//! 11. [`mux`] puts both into a file.

pub mod units;

pub mod source;

pub mod diag;

pub mod timeline;

pub mod game;

pub mod proof;

pub mod narration;

pub mod draft;

pub mod sync;

pub mod film;

pub mod paint;

pub mod thumbnail;

pub mod kit;

pub mod animation;

pub mod encode;

pub mod mux;

pub mod cli;
