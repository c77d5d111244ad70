// Records what the page plays, without a sound device: the page's own player in an
// offline context, with things done at given times.

/**
 * `events`: [seconds, method of Sound, ...arguments], in order of time; those at 0 are
 * done before the start. `plain` leaves out level, fades and ceiling; `pieces` does
 * without the engine. Gives left and right.
 */
export async function record(page, seconds, events, { plain = false, pieces = false } = {}) {
  const sides = await page.evaluate(async ({ seconds, events, plain, pieces }) => {
    const { Sound } = await import("/sound.js");
    const { parts } = await import("/page.js");
    const { room, sound: own } = parts();
    const rate = room.sample_rate_hz;
    const context = new OfflineAudioContext(2, Math.round(seconds * rate), rate);
    if (!own.feed && !pieces) throw new Error("the page has no engine");
    const sound = new Sound(rate, () => {}, pieces ? null : own.feed);
    const troubles = [];
    sound.failed = (error) => troubles.push(error.message);
    sound.without = (why) => troubles.push(why);
    const wait = (ms) => new Promise((done) => setTimeout(done, ms));
    await sound.attach(context, plain);
    sound.know(room.sources, room.revision);
    // Time stands still until all that is needed has come: nothing is late.
    const settle = async () => {
      for (let quiet = 0; quiet < 3; quiet += sound.busy() ? -quiet : 1) {
        sound.supply();
        await wait(8);
      }
    };
    const run = (now) => now.forEach((event) => sound[event[1]](...event.slice(2)));
    run(events.filter(([at]) => at === 0));
    await wait(100);
    await settle();
    const turns = (at) => Math.round((at * rate) / 128);
    const stops = new Map();
    for (let at = 1; at < seconds; at += 1) stops.set(turns(at), []);
    for (const event of events.filter(([at]) => at > 0)) {
      stops.set(turns(event[0]), [...(stops.get(turns(event[0])) ?? []), event]);
    }
    for (const [turn, now] of stops) {
      context.suspend((turn * 128) / rate).then(async () => {
        await wait(5);
        run(now);
        if (now.length) await wait(30);
        await settle();
        context.resume();
      });
    }
    const heard = await context.startRendering();
    if (troubles.length) throw new Error(troubles.join("; "));
    return [0, 1].map((side) => {
      const bytes = new Uint8Array(heard.getChannelData(side).buffer);
      let text = "";
      for (let at = 0; at < bytes.length; at += 32768) text += String.fromCharCode(...bytes.subarray(at, at + 32768));
      return btoa(text);
    });
  }, { seconds, events, plain, pieces });
  return sides.map((side) => {
    const bytes = Buffer.from(side, "base64");
    return new Float32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 4);
  });
}

/** A stereo file of 32-bit floats. */
export function wav(sides, rate) {
  const frames = sides[0].length;
  const head = Buffer.alloc(44);
  head.write("RIFF", 0);
  head.writeUInt32LE(36 + 8 * frames, 4);
  head.write("WAVEfmt ", 8);
  head.writeUInt32LE(16, 16);
  head.writeUInt16LE(3, 20);
  head.writeUInt16LE(2, 22);
  head.writeUInt32LE(rate, 24);
  head.writeUInt32LE(8 * rate, 28);
  head.writeUInt16LE(8, 32);
  head.writeUInt16LE(32, 34);
  head.write("data", 36);
  head.writeUInt32LE(8 * frames, 40);
  const body = Buffer.alloc(8 * frames);
  for (let frame = 0; frame < frames; frame += 1) {
    body.writeFloatLE(sides[0][frame], 8 * frame);
    body.writeFloatLE(sides[1][frame], 8 * frame + 4);
  }
  return Buffer.concat([head, body]);
}

/** The largest step from one sample to the next between two frames. */
export function step(sides, from, to) {
  let largest = 0;
  for (const side of sides) {
    for (let frame = Math.max(1, from); frame < Math.min(to, side.length); frame += 1) {
      largest = Math.max(largest, Math.abs(side[frame] - side[frame - 1]));
    }
  }
  return largest;
}

export function peak(sides, from = 0, to = Infinity) {
  let largest = 0;
  for (const side of sides) {
    for (let frame = from; frame < Math.min(to, side.length); frame += 1) {
      largest = Math.max(largest, Math.abs(side[frame]));
    }
  }
  return largest;
}
