//! The words producers name tracks with, in the abbreviations and languages they
//! use. Common practice, no source.
//!
//! Written without accents and in small letters; see `names` for how a name is
//! cut into words. Of several words in a name the one that stands first here
//! decides: named instruments before what they do (`lead`, `pad`), that before
//! what says little (`fx`, `perc`, `loop`).

use cupel_units::Role;

/// Several words that say more together, in any order and anywhere in the name.
pub(crate) const TOGETHER: &[(&[&str], Role)] = &[
    (&["kick", "snare"], Role::DrumLoop),
    (&["kick", "clap"], Role::DrumLoop),
    (&["kick", "hats"], Role::DrumLoop),
    (&["bd", "sd"], Role::DrumLoop),
    (&["open", "hat"], Role::OpenHat),
    (&["open", "hats"], Role::OpenHat),
    (&["open", "hh"], Role::OpenHat),
    (&["open", "hihat"], Role::OpenHat),
    (&["hi", "hat", "open"], Role::OpenHat),
    (&["hat", "o"], Role::OpenHat),
    (&["hh", "o"], Role::OpenHat),
    (&["offene", "hihat"], Role::OpenHat),
    (&["charley", "ouvert"], Role::OpenHat),
    (&["charley", "abierto"], Role::OpenHat),
    (&["oh", "hat"], Role::OpenHat),
    (&["bass", "drum"], Role::Kick),
    (&["bass", "guitar"], Role::Bass),
    (&["bass", "gtr"], Role::Bass),
    (&["grosse", "caisse"], Role::Kick),
    (&["grosse", "trommel"], Role::Kick),
    (&["gran", "cassa"], Role::Kick),
    (&["caisse", "claire"], Role::Snare),
    (&["kleine", "trommel"], Role::Snare),
    (&["rim", "shot"], Role::Rim),
    (&["side", "stick"], Role::Rim),
    (&["cross", "stick"], Role::Rim),
    (&["rim", "click"], Role::Rim),
    (&["finger", "snap"], Role::Clap),
    (&["hand", "clap"], Role::Clap),
    (&["cow", "bell"], Role::Percussion),
    (&["wood", "block"], Role::Percussion),
    (&["steel", "drum"], Role::Percussion),
    (&["hand", "drum"], Role::Percussion),
    (&["bell", "tree"], Role::Percussion),
    (&["wind", "chimes"], Role::Effects),
    (&["ride", "bell"], Role::Cymbal),
    (&["bass", "drop"], Role::Effects),
    (&["sub", "drop"], Role::Effects),
    (&["sub", "boom"], Role::Effects),
    (&["sub", "hit"], Role::Effects),
    (&["orch", "hit"], Role::Chords),
    (&["vox", "pad"], Role::Pad),
    (&["vocal", "pad"], Role::Pad),
    (&["choir", "pad"], Role::Pad),
    (&["voice", "pad"], Role::Pad),
    (&["atmo", "pad"], Role::Pad),
    (&["noise", "pad"], Role::Pad),
    (&["electric", "piano"], Role::Piano),
    (&["e", "piano"], Role::Piano),
    (&["white", "noise"], Role::Texture),
    (&["room", "tone"], Role::Texture),
];

/// Words that decide by themselves, whole: `bd` is a kick, `bdrm` is not. A list
/// of words to each role, with blanks between them.
pub(crate) const WORDS: &[(Role, &str)] = &[
    (
        Role::OpenHat,
        "ohh oh openhat openhats openhh openhihat ophat hho ohat hatopen hhopen",
    ),
    (
        Role::ClosedHat,
        "chh ch closedhat closedhats hhc clhat chat hc hatclosed hhclosed",
    ),
    (
        Role::Kick,
        "kick kicks kik kck kic kicc bd kd kk bassdrum bdrum bombo bumbo cassa bombos \
         bastrumma basstrommel grossecaisse kickdrum kickbass бочка кик キック",
    ),
    (
        Role::Clap,
        "clap claps clp snap snaps handclap handclaps fingersnap cp palmas palmada palmadas \
         klatschen klatscher claquement claquements хлопок клэп クラップ",
    ),
    (
        Role::Rim,
        "rim rims rimshot rimshots sidestick crossstick rs rimclick aro римшот リム",
    ),
    (
        Role::Snare,
        "snare snares snr sn sd snaredrum caisse caja rullante caixa tarola redoblante virvel \
         снейр малый スネア",
    ),
    (
        Role::Shaker,
        "shaker shakers shk shkr shake shakes tamb tambo tambourine tambourines tambourin \
         pandereta maracas maraca cabasa schellenkranz rassel ganza chocalho шейкер シェイカー",
    ),
    (
        Role::Cymbal,
        "crash crashes ride rides splash china cymbal cymbals cym cymb crsh becken cymbale \
         cymbales platillo platillos plato platos piatto piatti prato pratos rd тарелка крэш \
         райд シンバル",
    ),
    (
        Role::ClosedHat,
        "hat hats hh hhat hhats hihat hihats charley charleston charles chimbal hht хэт ハット \
         ハイハット",
    ),
    (Role::Tom, "tom toms floortom tomtom том томы タム"),
    (
        Role::Percussion,
        "conga congas bongo bongos cowbell clave claves woodblock tabla triangle timbale \
         timbales djembe guiro agogo cajon udu cuica surdo darbuka taiko timpani",
    ),
    (
        Role::Voice,
        "vox vocal vocals voc vocs voice voices vx lv bv bvs bgv bgvs bvox ldvox leadvox \
         vocalchop vocalchops adlib adlibs chops voix voz voces vozes voce voci gesang stimme \
         stimmen chant choir choeur choeurs chor coro coros acapella acappella speech spoken \
         rap sang вокал голос ボーカル",
    ),
    (
        Role::Guitar,
        "guitar guitars gtr gtrs git guit egtr agtr gitarre gitarren guitare guitares \
         guitarra guitarras chitarra violao gitarr ukulele uke banjo гитара ギター",
    ),
    (Role::Sub, "sub subs subbass subb саб サブ"),
    (
        Role::Bass,
        "bass basses bassline bs bss reese basse bajo baixo basso bas acid moogbass \
         bassguitar subline бас ベース",
    ),
    (
        Role::Piano,
        "piano pianos pno pf rhodes wurli wurlitzer ep epiano klavier пиано ピアノ",
    ),
    (
        Role::Strings,
        "strings string str strs violin violins viola cello celli streicher cordes cuerdas \
         archi cordas strakar скрипки струнные ストリングス",
    ),
    (
        Role::Brass,
        "brass horn horns trumpet trumpets trombone sax saxophone flute clarinet blaser \
         blaeser cuivres metales fiati metais trompete trompeta flote",
    ),
    (
        Role::Chords,
        "organ org orgel orgue organo clav clavinet hammond",
    ),
    (
        Role::Pad,
        "pad pads flaeche flache flachen nappe nappes пэд パッド",
    ),
    (
        Role::Pluck,
        "pluck plucks plk plck arp arps arpeggio arpeggios bells bell mallet mallets marimba \
         kalimba vibraphone vibes glockenspiel glock harp pizz pizzicato seq sequence арп",
    ),
    (
        Role::Chords,
        "keys key keyboard keyboards chord chords chrd chrds stab stabs accord accords akkord \
         akkorde acordes accordi clavier claviers teclado teclados tastiera tasten",
    ),
    (
        Role::Lead,
        "lead leads ld hook melody melodies mel melo solo theme topline melodie melodia лид \
         リード",
    ),
    (
        Role::Texture,
        "riser risers rise uplifter uplifters buildup noise texture textures atmo atmos \
         atmosphere atmospheres ambience ambient amb drone drones foley vinyl crackle ghost \
         ghosts room hiss rauschen gerausch bruit bruits ruido rumore field rain wind",
    ),
    (
        Role::Effects,
        "fx sfx efx effect effects impact impacts imp hit hits sweep sweeps downlifter \
         downlifters downer boom booms whoosh swoosh transition transitions reverse rev zap \
         laser lasers scratch effekt effekte effets efectos effetti efeitos эффекты",
    ),
    (
        Role::Percussion,
        "perc percs prc percussion percussions percu percus percusion percussioni percussao \
         perkussion perx block clicks click перкуссия パーカッション",
    ),
    (
        Role::DrumLoop,
        "drums drum drm drms dr drumloop drumloops beat beats break breaks breakbeat amen top \
         tops toploop kit drumkit schlagzeug trommel batterie bateria batteria trummor \
         overheads барабаны ドラム",
    ),
    (
        Role::Lead,
        "synth synths syn synt synthe sintetizador синт シンセ",
    ),
    // the number of a drum machine says bass only where nothing else is said
    (Role::Bass, "808"),
];

/// Words that may be joined to one of the above: `kicktop`, `vocalbus`.
pub(crate) const JOINED: &str = "top low high main loop loops layer bus buss group stem verb reverb delay dry wet \
    click body attack tail long short left right fill fills roll rolls hit one two shot \
    alt new stack line track deep soft hard chop double dbl intro";
