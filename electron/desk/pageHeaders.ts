/**
 * The Lesson's waveform is drawn by a library that writes one style element into its own shadow tree; this is that text's hash, so that just
 * it is let through. A test works it out from the library in use: a newer one, or another height of the waveform, changes it.
 */
export const waveformStyle = `'sha256-XGW/cX2BkTPWNNT3NdyASrPEWZfPnKdPJaJ2aN7R+v8='`

/** What a page of ours may load and do, the same in every host. `connect` is what it may talk to besides its own origin. */
export function pageHeaders(connect: readonly string[] = []): Record<string, string> {
  const policy = [
    `default-src 'none'`,
    // Compiling wasm is not running text: it needs its own word.
    `script-src 'self' 'wasm-unsafe-eval'`,
    `worker-src 'self' blob:`,
    `style-src 'self' ${waveformStyle}`,
    `img-src 'self' data: blob:`,
    `media-src 'self' blob:`,
    `font-src 'self'`,
    // The plan as it will be sent, in a sandbox of its own.
    `frame-src 'self'`,
    `connect-src ${["'self'", ...connect].join(' ')}`,
    `manifest-src 'self'`,
    `base-uri 'none'`,
    `form-action 'none'`,
    `frame-ancestors 'none'`,
    `object-src 'none'`,
  ]
  return {
    'content-security-policy': policy.join('; '),
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-embedder-policy': 'require-corp',
    'cross-origin-resource-policy': 'same-origin',
    'permissions-policy': 'microphone=(self), camera=(), geolocation=(), display-capture=(), usb=(), serial=(), hid=(), midi=()',
    'referrer-policy': 'no-referrer',
    'x-content-type-options': 'nosniff',
    'x-frame-options': 'DENY',
  }
}
