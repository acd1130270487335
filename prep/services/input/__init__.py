"""What people type and files hold, looked at before anything is written down."""
