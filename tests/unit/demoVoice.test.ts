import { describe, expect, test } from 'vitest'
import { sentencesOf, speak, voiceRate, wav } from '../../electron/desk/demo/voice.ts'

const rms = (samples: Float32Array, fromS: number, toS: number): number => {
  const part = samples.subarray(Math.round(fromS * voiceRate), Math.round(toS * voiceRate))
  return Math.sqrt(part.reduce((sum, x) => sum + x * x, 0) / Math.max(1, part.length))
}

describe('the voice', () => {
  test('speaks each sentence where it says, and is silent between', async () => {
    const speech = await speak('Here is your swing. The trail elbow is out behind at the top, and that takes the shaft across the line.', {
      leadS: 0.3,
      pauseS: 0.5,
      tailS: 0.4,
    })
    expect(speech.sentences.map((one) => one.text)).toEqual([
      'Here is your swing.',
      'The trail elbow is out behind at the top, and that takes the shaft across the line.',
    ])
    const [first, second] = speech.sentences as [(typeof speech.sentences)[0], (typeof speech.sentences)[0]]
    expect(first.startS).toBeCloseTo(0.3, 3)
    expect(second.startS - first.endS).toBeCloseTo(0.5, 3)
    expect(speech.seconds - second.endS).toBeCloseTo(0.4, 3)
    expect(speech.samples.length / voiceRate).toBeCloseTo(speech.seconds, 6)
    // Four words and seventeen words at an ordinary rate of 120 to 200 words a minute.
    expect(first.endS - first.startS).toBeGreaterThan(0.7)
    expect(first.endS - first.startS).toBeLessThan(2)
    expect(second.endS - second.startS).toBeGreaterThan(3.5)
    expect(second.endS - second.startS).toBeLessThan(8)
    for (const one of speech.sentences) expect(rms(speech.samples, one.startS, one.endS)).toBeGreaterThan(0.04)
    expect(rms(speech.samples, 0, first.startS - 0.001)).toBe(0)
    expect(rms(speech.samples, first.endS + 0.001, second.startS - 0.001)).toBe(0)
    expect(speech.samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0)).toBeCloseTo(0.7, 5)
  })

  test('times its words, in order and within their sentence', async () => {
    const { sentences } = await speak(['Look at the shaft at the top.'])
    const { words, startS, endS } = sentences[0]!
    expect(words.map((word) => word.text)).toEqual(['Look', 'at', 'the', 'shaft', 'at', 'the', 'top'])
    const times = words.map((word) => word.startS)
    expect(times).toEqual([...times].sort((a, b) => a - b))
    expect(times[0]).toBeGreaterThanOrEqual(startS)
    expect(times.at(-1)!).toBeLessThan(endS)
    expect(times.at(-1)! - times[0]!).toBeGreaterThan(0.5)
  })

  test('is slower when told so, and takes the same time each time', async () => {
    const [slow, fast, again] = [
      await speak('One two three four five.', { wordsPerMinute: 110 }),
      await speak('One two three four five.', { wordsPerMinute: 210 }),
      await speak('One two three four five.', { wordsPerMinute: 210 }),
    ]
    expect(slow.seconds).toBeGreaterThan(fast.seconds * 1.3)
    expect(Math.abs(again.seconds - fast.seconds)).toBeLessThan(0.02)
  })

  test('will not speak nothing', async () => {
    await expect(speak('  ')).rejects.toThrow('There is nothing to say')
  })

  test('cuts sentences at their ends only', () => {
    expect(sentencesOf('It is 3.5 to one. Good!  Now look.')).toEqual(['It is 3.5 to one.', 'Good!', 'Now look.'])
  })

  test('writes plain WAV', () => {
    const file = wav(Float32Array.from([0, 0.5, -1, 2]))
    expect(file.length).toBe(44 + 8)
    expect(file.toString('latin1', 0, 4) + file.toString('latin1', 8, 16)).toBe('RIFFWAVEfmt ')
    expect(file.readUInt32LE(24)).toBe(48_000)
    expect([0, 1, 2, 3].map((i) => file.readInt16LE(44 + 2 * i))).toEqual([0, 16384, -32768, 32767])
  })
})
