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
    (&["glitch", "perc"], Role::Percussion),
    // cymbals that open, close or have a pedal are hats
    (&["open", "cymbal"], Role::OpenHat),
    (&["open", "cym"], Role::OpenHat),
    (&["op", "hat"], Role::OpenHat),
    (&["op", "hh"], Role::OpenHat),
    (&["half", "hat"], Role::OpenHat),
    (&["closed", "cymbal"], Role::ClosedHat),
    (&["closed", "cym"], Role::ClosedHat),
    (&["pedal", "cymbal"], Role::ClosedHat),
    (&["foot", "cymbal"], Role::ClosedHat),
    (&["drum", "roll"], Role::Snare),
    (&["stick", "rim"], Role::Rim),
    (&["steel", "drums"], Role::Percussion),
    (&["steel", "pan"], Role::Percussion),
    (&["log", "drum"], Role::Percussion),
    (&["frame", "drum"], Role::Percussion),
    (&["jingle", "bell"], Role::Shaker),
    (&["jingle", "bells"], Role::Shaker),
    (&["sleigh", "bells"], Role::Shaker),
    (&["sleigh", "bell"], Role::Shaker),
    (&["finger", "cymbal"], Role::Percussion),
    (&["finger", "cymbals"], Role::Percussion),
    (&["mark", "tree"], Role::Percussion),
    (&["high", "q"], Role::Percussion),
    (&["steel", "guitar"], Role::Guitar),
    (&["english", "horn"], Role::Brass),
    (&["pan", "flute"], Role::Brass),
    (&["music", "box"], Role::Pluck),
    (&["orchestra", "hit"], Role::Chords),
    (&["reverse", "cymbal"], Role::Effects),
    (&["rev", "cymbal"], Role::Effects),
    (&["reverse", "crash"], Role::Effects),
    (&["rev", "crash"], Role::Effects),
    (&["rev", "cym"], Role::Effects),
    (&["vinyl", "scratch"], Role::Effects),
    (&["vinyl", "stop"], Role::Effects),
    (&["tape", "stop"], Role::Effects),
    (&["sound", "effects"], Role::Effects),
    (&["drum", "room"], Role::DrumLoop),
    (&["drums", "room"], Role::DrumLoop),
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
        "ohh openhat openhats openhh openhihat ophat hho ohat hatopen hhopen hhop",
    ),
    (
        Role::ClosedHat,
        "chh closedhat closedhats closedhh closedhihat hhc hhcl clhat clhh chat hatclosed \
         hhclosed phh hhp hhf pedalhat pedalhh foothat",
    ),
    (
        Role::Kick,
        "kick kicks kik kiks kck kic kicc kickz kyck bd bds kd kk bassdrum bassdrums bdrum \
         bombo bumbo cassa bombos bastrumma basstrommel grossecaisse kickdrum kickbass stopa \
         бочка кик キック バスドラム 底鼓 大鼓 킥",
    ),
    (
        Role::Clap,
        "clap claps clp snap snaps handclap handclaps fingersnap cp palmas palmada palmadas \
         klatschen klatscher klatsch claquement claquements handclp clapz battimani хлопок \
         хлопки клэп クラップ 拍手 클랩 박수",
    ),
    (
        Role::Rim,
        "rim rims rimshot rimshots rimsht sidestick sidestk crossstick xstick rimclick aro \
         римшот リム リムショット 림샷",
    ),
    (
        Role::Snare,
        "snare snares snr snrs sn snar sd sds snaredrum snaredrums snaretop snarebottom caisse \
         caja rullante caixa tarola redoblante virvel virveltrumma werbel trampet снейр малый \
         スネア 军鼓 小鼓 스네어",
    ),
    (
        Role::Shaker,
        "shaker shakers shk shkr shake shakes tamb tambo tambourine tambourines tambourin \
         pandereta maracas maraca marac cabasa cabassa caxixi schellenkranz \
         schellen rassel ganza chocalho sonajero tamburin tamburello tmb tambs pandeiro \
         egg eggshaker sistrum shekere afoxe шейкер бубен シェイカー タンバリン 沙锤 铃鼓 쉐이커 \
         탬버린",
    ),
    (
        Role::Cymbal,
        "crash crashes ride rides splash china cymbal cymbals cym cymb crsh becken cymbale \
         cymbales platillo platillos plato platos piatto piatti prato pratos crs \
         cymballs ridebell splsh spl gong gongs tamtam bekken talerz zil тарелка тарелки крэш \
         райд гонг シンバル クラッシュ ライド 镲 吊镲 심벌 크래시 라이드",
    ),
    (
        Role::ClosedHat,
        "hat hats hh hhs hhat hhats hihat hihats hihts highhat highhats hht hatz charley \
         charleston charles chimbal хэт хай хайхэт ハット ハイハット 踩镲 하이햇",
    ),
    (
        Role::Tom,
        "tom toms tomz floortom racktom hitom midtom lowtom tomtom tomtoms octoban octobans \
         rototom rototoms том томы タム 嗵鼓 통통 탐",
    ),
    (
        Role::Percussion,
        "conga congas tumba tumbas tumbadora quinto bongo bongos bongoes cowbell cowbells cowbel \
         cencerro clave claves woodblock woodblocks templeblock templeblocks woodblk tabla \
         tablas bayan dayan dholak dhol mridangam ghatam triangle triangulo triangel timbale \
         timbales djembe djembes dundun dunun talkingdrum guiro agogo agogos cajon udu cuica \
         surdo repinique tamborim darbuka doumbek dumbek bendir riq daf bodhran taiko timpani \
         timps kettledrum pauken vibraslap castanet castanets kastagnetten castanuelas \
         castagnettes ratchet whistle handdrum framedrum steelpan steeldrum steeldrums \
         logdrum hang handpan waterdrum bata конга конги бонго ковбелл коровий \
         コンガ ボンゴ カウベル トライアングル 康加 邦戈 콩가 봉고 카우벨",
    ),
    (
        Role::Voice,
        "vox vocal vocals voc vocs voice voices vx lv bv bvs bgv bgvs bvox ldvox leadvox \
         vocalchop vocalchops adlib adlibs chops voix voz voces vozes voce voci gesang stimme \
         stimmen chant chants choir choirs choeur choeurs chor coro coros acapella acappella \
         acapellas acap speech spoken speak talk rap sang singer singing vocl vocalist bgvox \
         leadvocal leadvocals backingvocals harmonies vocoder vcl vcls vokal vokale vokaler \
         wokal spiew zang canto falsetto whisper scream shout вокал голос бэк хор ボーカル \
         コーラス 人声 主唱 和声 보컬 코러스",
    ),
    (
        Role::Guitar,
        "guitar guitars gtr gtrs git guit egtr agtr gitarre gitarren guitare guitares \
         guitarra guitarras chitarra chitarre violao gitarr gitar gitara gitaar gtar \
         acgtr acgtrs elgtr eguitar aguitar strat nylon powerchord powerchords strum strums \
         strumming ukulele uke banjo mandolin mandoline sitar lute bouzouki dobro гитара \
         гитары ギター 吉他 기타",
    ),
    (Role::Sub, "sub subs subbass subb subz саб サブ 서브"),
    (
        Role::Bass,
        "bass basses bassline bs bss reese basse bajo baixo basso bas acid moogbass \
         bassguitar basssynth synthbass bassgtr bgtr bazz kontrabass \
         contrabass contrebasse doublebass fretless slapbass wobble growl subline бас ベース \
         贝斯 低音 베이스",
    ),
    (
        Role::Piano,
        "piano pianos pno pf ep pfte rhodes wurli wurly wurlitzer epiano epno grandpiano upiano \
         harpsichord cembalo clavecin klavier flugel fortepiano pianoforte пиано пианино рояль \
         фортепиано ピアノ エレピ 钢琴 피아노",
    ),
    (
        Role::Strings,
        "strings string str strs violin violins viola cello celli streicher cordes cuerdas \
         archi cordas strakar strng strngs stringz vln vlns vla vlc cellos violines violon \
         violons violino violini violoncello violoncelle violonchelo viool geige geigen fiddle \
         orchestra orchestral orch orchester orquesta скрипка скрипки виолончель \
         струнные ストリングス バイオリン 弦乐 小提琴 스트링 스트링스 바이올린",
    ),
    (
        Role::Brass,
        "brass horn horns trumpet trumpets trombone sax saxophone flute clarinet blaser \
         blaeser cuivres metales fiati metais trompete trompeta trompette tromba trombon \
         trombones tuba tubas flugelhorn cornet bugle flote flauta flauto saxofon saxo \
         saxes altosax tenorsax oboe bassoon piccolo recorder ocarina panflute shakuhachi \
         harmonica accordion bagpipe bagpipes shanai clarinets klarinette clarinete flutes \
         woodwind woodwinds winds reeds духовые труба саксофон флейта ブラス トランペット サックス \
         フルート 铜管 小号 长笛 브라스 색소폰 트럼펫",
    ),
    (
        Role::Chords,
        "organ organs org orgel orgue organo orgao orgn clav clavi clavinet harmonium hammond \
         орган オルガン 风琴 오르간",
    ),
    (
        Role::Pad,
        "pad pads padz flaeche flaechen flache flachen nappe nappes tappeto tappeti colchon \
         synthpad padsynth soundscape пэд пад подклад パッド 铺底 패드",
    ),
    (
        Role::Pluck,
        "pluck plucks plk plck arp arps arpeggio arpeggios bells bell mallet mallets marimba \
         marimbas xylo xylophone xylophon kalimba mbira thumbpiano vibraphone vibraphon vibes \
         celesta celeste musicbox dulcimer santur koto shamisen glockenspiel glocken glock harp \
         harfe harpe arpa carillon campana campanas cloches glocke chime chimes tubularbells \
         pizz pizzicato seq seqs sequence sequences sequenz sequencer ostinato арп арпеджио \
         плак колокол колокольчик арфа アルペジオ ベル マリンバ 琶音 플럭 아르페지오",
    ),
    (
        Role::Chords,
        "keys key keyboard keyboards chord chords chrd chrds stab stabs accord accords akkord \
         akkorde acorde acordes accordo accordi klawisze akordy klavye clavier claviers teclado \
         teclados tastiera tastiere tasten toetsen stabz chordz skank клавиши аккорд \
         аккорды コード キーボード 和弦 键盘 코드 건반",
    ),
    (
        Role::Lead,
        "lead leads ld lds leadz hook hooks melody melodies mel melo melod solo theme topline \
         melodie melodia melodi motif riff riffs leadsynth synthlead supersaw hoover лид соло \
         мелодия リード メロディ 主音 旋律 리드 멜로디",
    ),
    (
        Role::Texture,
        "riser risers rise uplifter uplifters buildup noise texture textures atmo atmos \
         atmosphere atmospheres atmosfera atm ambience ambiences ambient ambi ambis amb ambs \
         ambiance ambiente ambientes drone drones foley vinyl crackle crackles hum ghost ghosts \
         room roomtone hiss rauschen gerausch gerausche bruit bruits ruido ruidos rumore rumori \
         field fieldrec nature birds ocean waves crowd rain water wind thunder whitenoise \
         pinknoise noisebed szum brus шум атмосфера ノイズ 噪音 氛围 노이즈 앰비언트",
    ),
    (
        Role::Effects,
        "fx sfx efx effect effects impact impacts imp hit hits sweep sweeps downlifter \
         downlifters downer boom booms whoosh swoosh transition transitions reverse rev zap \
         laser lasers lazer lazers scratch scratches glitch glitches glitched stutter bleep \
         bleeps siren sirens alarm explosion explode gunshot gun wosh woosh swish swell swells \
         stinger stingers braam hitfx rewind backspin downsweep upsweep suckback reversed \
         robot bomb effekt effekte effet effets efecto efectos effetto effetti efeito efeitos \
         efekt efekty эффект эффекты 效果 音效 効果音 エフェクト 효과 효과음 이펙트",
    ),
    (
        Role::Percussion,
        "perc percs percz perk perks prc prcs percussion percussions percussive percu percus \
         percusion percusiones percussioni percussao perkussion perkusja perx block blocks \
         clicks click blip blips tick ticks tock ping pings clang clank clonk bonk knock knocks \
         tink ting plink stick sticks snip pop pops elec metallic bottle bottles \
         tin wood woods metal metals перкуссия перк パーカッション 打击乐 퍼커션",
    ),
    (
        Role::DrumLoop,
        "drums drum drm drms dr drumloop drumloops beat beats break breaks breakbeat amen top \
         tops toploop toploops kit drumkit schlagzeug trommel trommeln batterie batteries \
         bateria baterias batteria trummor drumbus drumbuss drumstem rhythm groove grooves \
         fill fills breakz overheads bebny davul барабаны ударные бит ドラム \
         ビート 鼓 鼓组 드럼 비트",
    ),
    (
        Role::Lead,
        "synth synths syn synt synthe sintetizador синт シンセ",
    ),
    // the pads of drum machines in two letters, which mean other things beside a word
    (Role::OpenHat, "oh ho"),
    (Role::ClosedHat, "ch hc hp"),
    (Role::Rim, "rs"),
    (Role::Shaker, "ma sh"),
    (Role::Cymbal, "rd cy cr cc rc"),
    (Role::Tom, "lt mt ht ft rt"),
    (Role::Percussion, "lc mc cb cl bl bh wb tri bng cng cga cwb"),
    (Role::DrumLoop, "loop loops"),
    // the number of a drum machine says bass only where nothing else is said
    (Role::Bass, "808"),
];

/// Words that tell what a name is about where they stand first, as folders of
/// samples are named: `perc_bell` is a percussion, not a bell. What they say of
/// drums and voices is not overruled.
pub(crate) const FIRST: &[(Role, &str)] = &[
    (
        Role::Percussion,
        "perc percs perk prc percussion percu perx",
    ),
    (Role::Effects, "fx sfx efx glitch"),
];

/// Words that may be joined to one of the above: `kicktop`, `vocalbus`.
pub(crate) const JOINED: &str = "top low high main loop loops layer bus buss group stem verb reverb delay dry wet \
    click body attack tail long short left right fill fills roll rolls hit one two shot \
    alt new stack line track deep soft hard chop double dbl intro";
