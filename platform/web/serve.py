#!/usr/bin/python3
"""serve.py FOLDER PORT KEYS: a static https server; http on 127.0.0.1 alone where KEYS is '-'."""
import http.server
import os
import ssl
import sys

folder, port, keys = sys.argv[1], int(sys.argv[2]), sys.argv[3]


class Handler(http.server.SimpleHTTPRequestHandler):
    protocol_version = 'HTTP/1.1'
    extensions_map = {**http.server.SimpleHTTPRequestHandler.extensions_map, '.wasm': 'application/wasm',
                      '.js': 'text/javascript', '.webmanifest': 'application/manifest+json',
                      '.data': 'application/octet-stream', '.crt': 'application/x-x509-ca-cert'}

    def __init__(self, *args, **more):
        super().__init__(*args, directory=folder, **more)

    def translate_path(self, path):
        if keys != '-' and path.split('?')[0] == '/adret-authority.crt':
            return os.path.join(keys, 'authority.crt')
        return super().translate_path(path)

    def send_head(self):
        plain = self.translate_path(self.path)
        if 'gzip' in self.headers.get('Accept-Encoding', '') and os.path.isfile(plain + '.gz'):
            body = open(plain + '.gz', 'rb')
            self.send_response(200)
            self.send_header('Content-Type', self.guess_type(plain))
            self.send_header('Content-Encoding', 'gzip')
            self.send_header('Content-Length', str(os.fstat(body.fileno()).st_size))
            self.end_headers()
            return body
        return super().send_head()

    def end_headers(self):
        for name, value in (('Cross-Origin-Opener-Policy', 'same-origin'),
                            ('Cross-Origin-Embedder-Policy', 'require-corp'),
                            ('Cross-Origin-Resource-Policy', 'same-origin'),
                            ('X-Content-Type-Options', 'nosniff'), ('Referrer-Policy', 'no-referrer'),
                            ('Permissions-Policy', 'accelerometer=(self), camera=(self), geolocation=(self), '
                             'gyroscope=(self), magnetometer=(self), microphone=()'),
                            ('Cache-Control', 'no-cache')):
            self.send_header(name, value)
        super().end_headers()

    def log_message(self, *args):
        pass


server = http.server.ThreadingHTTPServer(('127.0.0.1' if keys == '-' else '0.0.0.0', port), Handler)
if keys != '-':
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(os.path.join(keys, 'site.crt'), os.path.join(keys, 'site.key'))
    server.socket = context.wrap_socket(server.socket, server_side=True)
try:
    server.serve_forever()
except KeyboardInterrupt:
    pass
