"""How gunicorn serves hubheld: one process for the embedded database, many threads.

TLS ends in front of it. Bind and data folder come from the command line and the environment.
"""

wsgi_app = "server.wsgi:app"
worker_class = "gthread"
workers = 1
threads = 16
graceful_timeout = 5
keepalive = 5
loglevel = "warning"
control_socket_disable = True
